"""The owner enters what a special permit or a country lays down; a change is a newer row."""

import datetime as dt
import re
from dataclasses import dataclass
from fractions import Fraction

from django.db import transaction

from cylinders.facts import Actor
from cylinders.models import OwnerRow
from cylinders.rules.quantity import QuantityError, read_number
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

_NAMES = {
    OwnerRow.Subject.PERMIT: (
        re.compile(r"[0-9]{3,6}", re.ASCII),
        say("the number alone, e.g. 99999"),
    ),
    OwnerRow.Subject.COUNTRY: (re.compile(r"[A-Z]{2}", re.ASCII), say("two capitals, e.g. FR")),
}
_FACTOR = re.compile(r"[1-9][0-9]{0,2}/[1-9][0-9]{0,2}", re.ASCII)
_MOST_MONTHS = 12 * 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What the text lays down; None or empty where it says nothing.

    ``test_factor`` is a fraction of whole numbers ("5/3") times the marked pressure,
    ``limit_percent`` decimal text: permanent of total expansion.
    """

    requalification_months: int | None = None
    visual_months: int | None = None
    test_factor: str = ""
    limit_percent: str = ""
    life_months: int | None = None
    expires: dt.date | None = None


@transaction.atomic
def add_row(
    *,
    subject: str,
    name: str,
    figures: Figures,
    since: dt.date,
    cites: str,
    reason: str,
    at: dt.datetime,
    by: Actor,
) -> OwnerRow:
    """Add a row that holds from ``since`` on; earlier rows stay as they were.

    Raises :class:`Refused` for a name of the wrong shape, for figures that cannot be, without the
    text that is cited or without a reason, and for anybody but a member of staff.
    """
    if by.staff_id is None:
        raise Refused("not_staff", say("Only the shop's own people enter figures."))
    _check_name(subject, name)
    if not cites.strip() or not reason.strip():
        raise Refused("no_source", say("Write which text says so, and why the row is entered."))
    _check(figures)
    return OwnerRow.objects.create(
        subject=subject,
        name=name,
        since=since,
        cites=cites[:200],
        requalification_months=figures.requalification_months,
        visual_months=figures.visual_months,
        test_factor=figures.test_factor,
        limit_percent=figures.limit_percent,
        life_months=figures.life_months,
        expires=figures.expires,
        reason=reason[:200],
        entered_at=at,
        entered_by_id=by.staff_id,
    )


def _check_name(subject: str, name: str) -> None:
    if subject not in _NAMES:
        raise Refused(
            "unknown_subject", say("A row is about one of: {names}.", names=", ".join(_NAMES))
        )
    shape, ask = _NAMES[OwnerRow.Subject(subject)]
    if not shape.fullmatch(name):
        raise Refused(
            "bad_name",
            say(
                "{name!r} names no {subject}: write {ask}.",
                name=name[:40],
                subject=subject,
                ask=ask,
            ),
        )


def _check(figures: Figures) -> None:
    months = (figures.requalification_months, figures.visual_months, figures.life_months)
    if all(value in (None, "") for value in (*months, figures.test_factor, figures.limit_percent)):
        raise Refused("no_figure", say("Enter at least one figure."))
    if any(month is not None and not 1 <= month <= _MOST_MONTHS for month in months):
        raise Refused(
            "bad_months",
            say("Periods are whole months from 1 to {most_months}.", most_months=_MOST_MONTHS),
        )
    if figures.test_factor:
        whole = _FACTOR.fullmatch(figures.test_factor)
        if not whole or Fraction(figures.test_factor) < 1:
            raise Refused(
                "bad_factor", say("Write the factor as a fraction of at least 1, e.g. 5/3.")
            )
    if figures.limit_percent:
        _check_limit(figures.limit_percent)


def _check_limit(text: str) -> None:
    try:
        limit = read_number(text)
    except QuantityError as problem:
        raise Refused("bad_limit", say("The limit: {problem}.", problem=problem)) from problem
    if not 0 < limit <= 100:  # noqa: PLR2004 - per cent
        raise Refused("bad_limit", say("The limit is more than 0 and at most 100 per cent."))
