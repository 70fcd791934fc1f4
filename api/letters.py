"""Put a customer's messages into words: text and HTML, with link, tag code and a way to stop them.

Called inside the transaction that marks the message as going, so each cylinder's fresh link exists
if and only if the message may have gone. Addresses are made from the settings, never from a
request. The customer's name stands in the body only; no header holds what a person typed.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api import declining, links, units
from api.wording import told
from cylinders.facts import Actor, Kind
from cylinders.history import timeline
from cylinders.models import Customer, Cylinder, MessageKind, Shop
from cylinders.operations.reminders import Letter, Line
from cylinders.queries.for_stranger import in_both
from cylinders.rules.duty import Basis, Duty, DutyKind
from cylinders.rules.wording import say
from labels.codes import show
from labels.models import Tag, TagKind, TagState

SWEEP = Actor("service", "sweep")
_SUBJECTS = {
    "received": say("We have your cylinder"),
    "held": say("Your cylinder waits for a second look"),
    "ready": say("Your cylinder is ready"),
    "rejected": say("Written notice: your cylinder is rejected"),
    "condemned": say("Written notice: your cylinder is condemned"),
    "still_here": say("Your cylinder is still with us"),
}
_DUTIES = {
    DutyKind.REQUALIFICATION: say("Pressure test (hydrostatic requalification)"),
    DutyKind.INTERNAL_VISUAL: say("Internal visual inspection"),
    DutyKind.THREAD_EXAMINATION: say("Neck thread examination"),
    DutyKind.OXYGEN_CLEANING: say("Oxygen cleaning"),
    DutyKind.VALVE_SERVICE: say("Valve service"),
}
_BASES = {
    Basis.LAW: say("The law asks for it:"),
    Basis.COMMON_PRACTICE: say("Common practice, not law:"),
}
_REASONS = {"rejected": Kind.REJECTED, "condemned": Kind.CONDEMNED}
#: The clause that asks for the written notice.
_NOTICE = {
    "rejected": "49 CFR 180.205(h), 2019-10-01 edition",
    "condemned": "49 CFR 180.205(i)(2)-(3), 2019-10-01 edition",
}


@dataclass(frozen=True, slots=True)
class DueLine:
    """One duty in a reminder."""

    name: str
    when: str
    overdue: bool
    stops_fill: bool
    basis: str


@dataclass(frozen=True, slots=True)
class Told:
    """One cylinder in a message: what it is, its tag, its link, what is due on it."""

    name: str
    serial: str
    code: str
    address: str
    due: tuple[DueLine, ...]
    reason: str = ""
    marked: str = ""


def write(
    *,
    customer: Customer,
    kind: MessageKind,
    lines: Sequence[Line],
    on: dt.date,
    at: dt.datetime,
) -> Letter:
    """Write the message that tells ``lines`` to ``customer`` on the shop's day ``on``.

    It is in the customer's language, whoever makes it and wherever.
    """
    known = dict(settings.LANGUAGES)
    language = customer.language if customer.language in known else settings.LANGUAGE_CODE
    with translation.override(language), units.reading(units.AS_STAMPED):
        return _letter(customer, kind, lines, on=on, at=at)


def _letter(
    customer: Customer, kind: MessageKind, lines: Sequence[Line], *, on: dt.date, at: dt.datetime
) -> Letter:
    news = lines[0].notice.duty if kind is MessageKind.VISIT else ""
    cylinders = {line.cylinder.pk: line.cylinder for line in lines}
    about = [
        _told(cylinder, [line for line in lines if line.cylinder.pk == pk], news, on=on, at=at)
        for pk, cylinder in cylinders.items()
    ]
    stop = declining.address_of(customer_id=customer.pk, kind=kind)
    subject = told(_SUBJECTS[news]) if news else _reminder_subject(about)
    context = {
        "shop": Shop.objects.first(),
        "customer": customer,
        "cylinders": about,
        "subject": subject,
        "stop": stop,
        "kind": kind.label,
        "notice": _NOTICE.get(news, ""),
        "on": on,
        "ran_out": any(line.overdue for cylinder in about for line in cylinder.due),
        "news": news,
    }
    name = "notice" if news in _REASONS else "news" if news else "reminder"
    return Letter(
        to=customer.email,
        subject=subject,
        text=render_to_string(f"mail/{name}.txt", context),
        html=render_to_string(f"mail/{name}.html", context),
        headers={
            "List-Unsubscribe": f"<{stop}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        },
    )


def _told(
    cylinder: Cylinder, lines: Sequence[Line], news: str, *, on: dt.date, at: dt.datetime
) -> Told:
    duties = [line.duty for line in lines if line.duty is not None]
    reason = _last_reason(cylinder, news)
    mark = "-".join(word for word in (cylinder.authority, cylinder.specification) if word)
    return Told(
        name=" ".join(word for word in (mark, told(in_both(cylinder.pressure))) if word)
        or _("cylinder"),
        serial=cylinder.serial,
        code=_code_of(cylinder),
        address=links.issue(cylinder_id=cylinder.pk, at=at, by=SWEEP).address,
        due=tuple(_due(duty, on=on) for duty in duties),
        reason=reason[0],
        marked=reason[1],
    )


def _due(duty: Duty, *, on: dt.date) -> DueLine:
    overdue = duty.due is not None and duty.due < on
    month = date_format(duty.due, "F Y") if duty.due else _("not known")
    return DueLine(
        name=told(_DUTIES[duty.kind]),
        when=_("ran out at the end of %(month)s") % {"month": month}
        if overdue
        else _("due by the end of %(month)s") % {"month": month},
        overdue=overdue,
        stops_fill=duty.rule.blocks,
        basis=f"{told(_BASES[duty.rule.basis])} {duty.cites}",
    )


def _reminder_subject(about: Sequence[Told]) -> str:
    """That it is not to be filled is said only where a duty that stops a fill has run out."""
    overdue = [line for cylinder in about for line in cylinder.due if line.overdue]
    count = len(about)
    what = ngettext("Your cylinder", "Your %(count)s cylinders", count) % {"count": count}
    if any(line.stops_fill for line in overdue):
        return _("%(what)s: out of date, not to be filled") % {"what": what}
    return (
        _("%(what)s: overdue") % {"what": what}
        if overdue
        else _("%(what)s: what is due") % {"what": what}
    )


def _last_reason(cylinder: Cylinder, news: str) -> tuple[str, str]:
    """Why a cylinder was rejected or condemned, and how it is marked, as its history says."""
    if news not in _REASONS:
        return "", ""
    for entry in reversed(timeline(cylinder.pk)):
        if entry.kind is _REASONS[news]:
            return entry.facts["reason"], entry.facts.get("marked", "")
        if entry.kind is Kind.RECORD_ATTACHED and entry.facts["verdict"] == news:
            return _("by the lab's test of %(day)s") % {"day": entry.facts["tested_on"]}, ""
        if entry.kind is Kind.INSPECTED and entry.facts["result"] == news:
            return _("by our inspection, %(standard)s") % {"standard": entry.facts["standard"]}, ""
    return _("it bears marks that condemn it"), ""


def _code_of(cylinder: Cylinder) -> str:
    tags = Tag.objects.filter(cylinder=cylinder, kind=TagKind.CYLINDER, state=TagState.LIVE)
    code = tags.values_list("code", flat=True).first()
    return show(code) if code else ""
