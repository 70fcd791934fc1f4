"""A technician with a browser without script: reads a page, fills in a form, presses its button."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any, Self

from django.http import HttpResponse
from django.test import Client

from tests import makers


@dataclass
class Field:
    """One control with its name, type and value; ``on`` for what would be sent as it stands."""

    name: str
    kind: str
    value: str
    on: bool


@dataclass
class Form:
    """One form as it stands on the page."""

    action: str
    method: str
    fields: list[Field] = field(default_factory=list)

    @property
    def does(self) -> str:
        """What its hidden field names."""
        return next((one.value for one in self.fields if one.name == "do"), "")


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.open: Form | None = None
        self.area: Field | None = None
        self.select: Field | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        got = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.open = Form(got.get("action", ""), got.get("method", "get"))
            self.forms.append(self.open)
        elif self.open is not None and tag in ("input", "textarea", "select"):
            self._control(self.open, tag, got)
        elif tag == "option" and self.select is not None and "selected" in got:
            self.select.value = got.get("value", "")

    def _control(self, form: Form, tag: str, got: dict[str, str]) -> None:
        kind = got.get("type", tag)
        value = got.get("value", "on" if kind == "checkbox" else "")
        on = kind not in ("checkbox", "radio") or "checked" in got
        control = Field(got.get("name", ""), kind, value, on)
        form.fields.append(control)
        self.area = control if tag == "textarea" else None
        self.select = control if tag == "select" else self.select

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.value += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.open = None
        if tag == "textarea":
            if self.area:
                self.area.value = self.area.value.removeprefix("\n")
            self.area = None
        if tag == "select":
            self.select = None


class Desk:
    """One member of staff at one browser."""

    def __init__(self, name: str = "tessa") -> None:
        self.user = makers.make_technician(name)
        self.client = Client()
        self.client.force_login(self.user)
        self.response: HttpResponse = HttpResponse()
        self.path = ""

    @property
    def text(self) -> str:
        """What is on the page, without its tags."""
        bare = re.sub(r"<[^>]+>", " ", self.response.content.decode())
        return re.sub(r"\s+", " ", bare)

    @property
    def status(self) -> int:
        """The answer's status."""
        return self.response.status_code

    @property
    def forms(self) -> list[Form]:
        """Every form of the page."""
        reader = _Reader()
        reader.feed(self.response.content.decode())
        return reader.forms

    def open(self, path: str) -> Self:
        """Go to a page, and on to where it leads."""
        return self._arrive(self.client.get(path, follow=True), path)

    def press(self, does: str, **typed: Any) -> Self:
        """Fill in the form that does this and send it, as a browser would.

        Raises ``LookupError`` when no such form stands on the page, or it has not that field.
        """
        return self.send(self.filled(does, **typed))

    def filled(self, does: str, **typed: Any) -> tuple[str, dict[str, Any]]:
        """The address and content that pressing the button of that form would send."""
        form = next((one for one in self.forms if one.does == does), None)
        if form is None:
            raise LookupError(f"no form does {does} on {self.path}: {self.text[:900]}")
        missing = set(typed) - {one.name for one in form.fields}
        if missing:
            raise LookupError(f"the form {does} has no field {missing}")
        content: dict[str, Any] = {}
        for one in form.fields:
            if one.name and one.on and one.name not in typed:
                content.setdefault(one.name, []).append(one.value)
        return form.action or self.path, content | typed

    def send(self, filled: tuple[str, dict[str, Any]]) -> Self:
        """Send what was filled in; twice is what a double tap does."""
        path, content = filled
        return self._arrive(self.client.post(path, content, follow=True), path)

    def _arrive(self, response: Any, path: str) -> Self:
        self.response = response
        chain = response.redirect_chain
        self.path = chain[-1][0] if chain else path
        return self
