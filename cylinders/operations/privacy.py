"""What a person may ask of the shop: to be written to or not, to see everything, to be forgotten.

The history of a cylinder names people by number, so a person is forgotten by emptying the one row
that the number points at; no event is touched and every chain stays whole. What a test, a fill or
an inspection found is about the cylinder and stays, and so do traces and the papers of a lab.

Photos are another matter: a face, a hand, a car's plate or a name on a boot may be in view, and no
program can tell. So every photo of a person's visits and of their cylinders counts as theirs: it is
handed out with everything else, and its bytes are erased with the person. Of an erased photo the
history keeps its SHA-256, from which no picture comes back.
"""

import datetime as dt

from django.db import transaction

from cylinders.facts import Actor
from cylinders.models import Channel, Consent, Customer, Declined, PersonLog, WorkOrder
from cylinders.operations import filing
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

#: Looks are kept a little longer than a year, then forgotten themselves.
LOOKS_KEPT = dt.timedelta(days=396)


@transaction.atomic
def note_look(*, customer_id: int, where: str, at: dt.datetime, by: Actor) -> None:
    """Record that ``by`` looked at the data of a customer on the page ``where``."""
    _log(customer_id, PersonLog.Kind.LOOKED, where=where, at=at, by=by)


@transaction.atomic
def forget_old_looks(*, at: dt.datetime) -> int:
    """Forget looks that are older than :data:`LOOKS_KEPT`; returns how many."""
    old = PersonLog.objects.filter(kind=PersonLog.Kind.LOOKED, at__lt=at - LOOKS_KEPT)
    return old.delete()[0]


@transaction.atomic
def agree(
    *,
    customer_id: int,
    given: bool,
    wording: str,
    at: dt.datetime,
    by: Actor,
    channel: str = Channel.EMAIL,
) -> Consent:
    """Record that a customer agreed to a channel, or took it back, and in which words.

    Agreeing takes back what was declined by a message's link.
    """
    customer = _locked(customer_id)
    if not wording.strip():
        raise Refused("no_wording", say("Write the words that the customer agreed to."))
    if given and channel == Channel.EMAIL and not customer.email:
        raise Refused("no_address", say("There is no e-mail address yet. Enter it first."))
    if given and channel == Channel.TEXT and not customer.phone:
        raise Refused("no_number", say("There is no telephone number yet. Enter it first."))
    if channel == Channel.TEXT:
        customer.text_consent = given
    else:
        customer.email_consent = given
    customer.save(update_fields=["email_consent", "text_consent"])
    if given:
        Declined.objects.filter(customer=customer).delete()
    return Consent.objects.create(
        customer=customer,
        channel=channel,
        given=given,
        wording=wording.strip(),
        at=at,
        by=str(by),
    )


@transaction.atomic
def change_address(
    *, customer_id: int, name: str, email: str, phone: str, at: dt.datetime, by: Actor
) -> Customer:
    """Correct how a customer is called and reached; a new address has not bounced yet."""
    customer = _locked(customer_id)
    if not name.strip():
        raise Refused("no_name", say("A customer has a name."))
    if email != customer.email:
        customer.email_bounced = False
    if phone != customer.phone:
        customer.text_refused = False
    customer.name, customer.email, customer.phone = name.strip(), email.strip(), phone.strip()
    if not customer.email:
        customer.email_consent = False
    if not customer.phone:
        customer.text_consent = False
    customer.save()
    _log(customer_id, PersonLog.Kind.CHANGED, where="name and address", at=at, by=by)
    return customer


@transaction.atomic
def choose_language(*, customer_id: int, language: str, at: dt.datetime, by: Actor) -> Customer:
    """Write to a customer in ``language``, the code of a language that the edge speaks."""
    customer = _locked(customer_id)
    customer.language = language
    customer.save(update_fields=["language"])
    _log(customer_id, PersonLog.Kind.CHANGED, where="language", at=at, by=by)
    return customer


@transaction.atomic
def note_export(*, customer_id: int, at: dt.datetime, by: Actor) -> None:
    """Record that everything about a customer was handed out."""
    _log(customer_id, PersonLog.Kind.EXPORTED, where="everything", at=at, by=by)


@transaction.atomic
def erase(*, customer_id: int, reason: str, at: dt.datetime, by: Actor) -> Customer:
    """Forget a person: name, address, telephone, language, photos, what was declined.

    Refused while a cylinder of theirs is in the shop: it has to go back to somebody.
    """
    customer = _locked(customer_id)
    if not reason.strip():
        raise Refused("no_reason", say("Write who asked for it, and when."))
    open_visits = WorkOrder.objects.filter(closed_at__isnull=True)
    if open_visits.filter(customer=customer).exists():
        raise Refused(
            "cylinder_here",
            say("A cylinder of theirs is in the shop. Hand it over first, then erase."),
        )
    return _forget(customer, reason=reason, at=at, by=by)


@transaction.atomic
def erase_again(*, customer_id: int, at: dt.datetime, by: Actor) -> bool:
    """Forget a person in a copy from before they were forgotten; returns whether they were there.

    What their cylinders were at in the copy does not matter: it is over since.
    """
    customer = Customer.objects.select_for_update().filter(pk=customer_id).first()
    if customer is None or customer.erased_at is not None:
        return False
    _forget(customer, reason="erased before, and restored", at=at, by=by)
    return True


def _forget(customer: Customer, *, reason: str, at: dt.datetime, by: Actor) -> Customer:
    customer.name = f"Erased person {customer.pk}"
    customer.email = customer.phone = ""
    customer.language, customer.units = "en", "psi"
    customer.email_consent = customer.email_bounced = False
    customer.text_consent = customer.text_refused = False
    customer.text_consent = customer.text_refused = False
    customer.erased_at = at
    customer.save()
    Declined.objects.filter(customer=customer).delete()
    filing.erase_photos_of(customer, at=at, by=by)
    _log(customer.pk, PersonLog.Kind.ERASED, where=reason, at=at, by=by)
    return customer


def _locked(customer_id: int) -> Customer:
    customer = Customer.objects.select_for_update().filter(pk=customer_id).first()
    if customer is None:
        raise Refused("unknown_customer", say("There is no such customer."))
    if customer.erased_at is not None:
        raise Refused("erased", say("This person was erased. Add a new customer instead."))
    return customer


def _log(customer_id: int, kind: PersonLog.Kind, *, where: str, at: dt.datetime, by: Actor) -> None:
    PersonLog.objects.create(
        customer_id=customer_id, kind=kind, where=where[:200], at=at, by=str(by)
    )
