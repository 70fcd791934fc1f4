"""One customer for the shop: how to reach them, what they agreed to, who looked."""

from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from api import wording
from api.pages import fields
from api.pages.page import BenchPage, StaffView
from api.pages.told import Told
from cylinders.models import Channel, Customer
from cylinders.operations import privacy
from cylinders.operations.reminders import reaching
from cylinders.queries.person import everything_of
from cylinders.rules.wording import say

WORDING = say("I want e-mails from the shop about what is due on my cylinders and where they are.")
TEXT_WORDING = say("I want text messages from the shop about what is due and where they are.")
_LOOKS_SHOWN = 50


class Address(fields.PageForm):
    """How the customer is called and reached."""

    name = fields.line(say("Name"))
    email = forms.EmailField(
        label=say("E-mail"),
        required=False,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    phone = fields.line(say("Telephone"), required=False, inputmode="tel")


class Tongue(fields.PageForm):
    """In which language they are written to."""

    language = fields.pick(say("Language of messages"), fields.languages())


class Agree(fields.PageForm):
    """Whether they agree to be written to, in these words."""

    wording = fields.line(say("In these words"))


class Erase(fields.PageForm):
    """Who asked for it."""

    reason = fields.line(say("Who asked for it, and when?"))
    sure = fields.tick(say("It cannot be undone"))

    def clean_sure(self) -> bool:
        """Nothing is erased by a slip."""
        if not self.cleaned_data["sure"]:
            raise forms.ValidationError(_("Tick this: what is erased cannot come back."))
        return True


class Person(BenchPage):
    """What is kept of one customer."""

    template = "status/person.html"
    forms: ClassVar[dict[str, type[fields.PageForm]]] = {
        "address": Address,
        "language": Tongue,
        "agree": Agree,
        "refuse": Agree,
        "text_agree": Agree,
        "text_refuse": Agree,
        "erase": Erase,
    }
    customer: Customer

    def prepare(self) -> None:
        """Load the customer."""
        self.customer = customer_or_404(self.kwargs["pk"])

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """Fresh forms show what is known."""
        known = {"name": self.customer.name, "email": self.customer.email}
        words = TEXT_WORDING if name.startswith("text_") else WORDING
        known |= {"phone": self.customer.phone, "wording": wording.told(words)}
        known |= {"language": self.customer.language}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=known)

    def context(self) -> dict[str, Any]:
        """The customer, their cylinders and the logs."""
        customer = self.customer
        return {
            "customer": customer,
            "cylinders": customer.cylinders.order_by("pk"),
            "consents": customer.consents.order_by("-at"),
            "log": customer.log.order_by("-at")[:_LOOKS_SHOWN],
            "texts": reaching.texts_are_set_up(),
            "declined": [row.get_kind_display() for row in customer.declined.all()],
        }

    def act(self, name: str, form: Form) -> Told:
        """Change, agree, take back, or erase."""
        number, told = self.customer.pk, form.cleaned_data
        here = reverse("person", args=[number])
        if name == "address":
            privacy.change_address(
                customer_id=number,
                name=told["name"],
                email=told["email"],
                phone=told["phone"],
                at=self.at,
                by=self.by,
            )
            return Told(_("Written down."), here)
        if name == "language":
            tongue = told["language"]
            privacy.choose_language(customer_id=number, language=tongue, at=self.at, by=self.by)
            return Told(_("Written down."), here)
        if name == "erase":
            privacy.erase(customer_id=number, reason=told["reason"], at=self.at, by=self.by)
            return Told(_("This person is forgotten. Their cylinders keep their history."), here)
        given = name.endswith("agree")
        privacy.agree(
            customer_id=number,
            given=given,
            wording=told["wording"],
            at=self.at,
            by=self.by,
            channel=Channel.TEXT if name.startswith("text_") else Channel.EMAIL,
        )
        return Told(_("They get messages.") if given else _("They get no more messages."), here)


class Export(StaffView):
    """Everything about one customer as a file for them."""

    def get(self, _request: HttpRequest, pk: int) -> HttpResponse:
        """Answer with JSON; that it was handed out is recorded."""
        customer = customer_or_404(pk)
        privacy.note_export(customer_id=pk, at=self.at, by=self.by)
        response = JsonResponse(
            everything_of(customer, at=self.at), json_dumps_params={"indent": 1}
        )
        response.headers["Content-Disposition"] = f'attachment; filename="customer-{pk}.json"'
        return response


def customer_or_404(number: int) -> Customer:
    """The customer of that number."""
    customer = Customer.objects.filter(pk=number).first()
    if customer is None:
        raise Http404(f"no customer {number}")
    return customer
