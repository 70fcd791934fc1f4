"""Specification marks: DOT-3AL3000, TC-3ALM207, CTC/DOT 3AL 3000, DOT-39 NRC, permits."""

import re
from decimal import Decimal

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import MAKER, SERIAL, Draft, PendingOriginal
from cylinders.rules.markings.pressures import HIGHEST, UNIT_NAMES, stamped
from cylinders.rules.quantity import Quantity, psi
from cylinders.rules.specifications import SPECIAL_PERMIT, SPECIFICATIONS, find
from cylinders.rules.wording import say

#: a number on the next line is not their pressure: they are stamped without one, or it is in
#: their name
_NO_FIGURE = frozenset({"3", "3E", "8", "8AL", "4AA480", "4B240ET", "3A480X"})
_US_ONLY = frozenset({"DOT", "ICC"})
_PERMIT_DIGITS = 5
_LEAST = 100
#: a serial number is seldom a multiple of this, a service pressure in psi nearly always
_ROUND = 50
_STYLES = {
    "SP": say("special permit"),
    "E": say("exemption (older)"),
    "SU": say("Canadian permit of equivalent level (SU)"),
    "SH": say("Canadian permit of equivalent level (SH)"),
}


def _open(draft: Draft, found: PendingOriginal) -> None:
    """Add a specification mark; the word next to it or below it may be the serial number."""
    draft.marks.append(found)
    draft.pending.append(found)
    draft.awaits = SERIAL if draft.serial is None else draft.awaits


def original(draft: Draft, match: re.Match[str]) -> int:
    """Read authority (one or two), specification and pressure."""
    authority, second, code, metric, gap, figure, unit, plus = match.group(
        "authority", "second", "spec", "m", "by", "sp", "unit", "plus"
    )
    code = code.replace("-", "")
    if metric and find(f"{code}M") is None:
        return 0
    end = match.end()
    if gap and "\n" in gap and code in _NO_FIGURE:
        figure = unit = plus = None
        end = match.start("by")
    for name in (authority, second) if second else (authority,):
        found = _one(draft, name.replace(".", ""), code, metric, figure, unit)
        found.plus = bool(plus)
        found.below = figure if gap and "\n" in gap else None
    return end


def settle(draft: Draft) -> None:
    """Ask about a figure below a specification that may as well be the serial number.

    It is taken for the pressure where a serial number was read too, or where it is round.
    """
    for found in draft.pending:
        pressure = found.pressure
        if found.below and pressure and draft.serial is None and pressure.value % _ROUND:
            _ask_which(draft, f"{found.authority}-{found.spec}", found.below, pressure.unit)
            found.pressure = None


def _ask_which(draft: Draft, mark: str, figure: str, unit: str) -> None:
    """Ask whether a number below a mark is its pressure or the serial number."""
    draft.ask(
        "pressure_or_serial",
        say(
            "Is {figure} below {mark} the pressure or the serial number?", figure=figure, mark=mark
        ),
        say("service pressure {figure} {unit}", figure=figure, unit=unit),
        say("serial number {figure}", figure=figure),
    )


def _one(
    draft: Draft,
    authority: str,
    code: str,
    metric: str | None,
    figure: str | None,
    unit: str | None,
) -> PendingOriginal:
    """Add one specification mark whose row is in the table."""
    if metric and authority in _US_ONLY:
        draft.ask(
            "metric_on_us_mark",
            say(
                "{authority}-{code}M: the M belongs to Canadian marks. Which is stamped?",
                authority=authority,
                code=code,
            ),
            f"TC-{code}M{figure or ''}",
            f"{authority}-{code}{figure or ''}",
        )
        found = PendingOriginal(authority, code, None)
    else:
        row = SPECIFICATIONS[f"{code}M" if metric else code]
        pressure = stamped(draft, row, f"{authority}-{row.code}", figure, unit)
        found = PendingOriginal(authority, row.code, pressure)
        if pressure is None and code == "3A" and figure and figure[0] == "1":
            _ask_for_aluminium(draft, authority, figure)
    _open(draft, found)
    return found


def _ask_for_aluminium(draft: Draft, authority: str, figure: str) -> None:
    """Ask whether the 1 behind 3A is the L of 3AL."""
    draft.ask(
        "look_alike",
        say("Did you mean {authority}-3AL{figure}?", authority=authority, figure=figure[1:]),
        f"{authority}-3AL{figure[1:]}",
        f"{authority}-3A{figure}",
    )


def bare(draft: Draft, match: re.Match[str]) -> int:
    """Read a specification without an authority: it is a mark, but one to ask about."""
    code, metric, figure, unit, plus = match.group(
        "bare_spec", "bare_m", "bare_sp", "bare_unit", "bare_plus"
    )
    joined = match.start() > 0 and draft.text[match.start() - 1] == "/"
    if draft.awaits == SERIAL and draft.pending and not joined:
        return ask_serial_or(draft, match, "specification")
    row = find(f"{code.replace('-', '')}M" if metric else code.replace("-", ""))
    if row is None:
        return 0
    found = PendingOriginal(None, row.code, stamped(draft, row, row.code, figure, unit))
    found.plus = bool(plus)
    _open(draft, found)
    names = ("TC",) if metric else ("DOT", "CTC", "ICC")
    _ask_authority(draft, match[0].strip(), [f"{name}-{row.code}{figure}" for name in names])
    return match.end()


def _ask_authority(draft: Draft, written: str, choices: list[str]) -> None:
    """Say that nobody's mark is stamped before a specification, and ask whose it is."""
    draft.warn(
        "no_authority",
        say(
            "{written} has no DOT or TC before it: it is not known whose mark this is",
            written=written,
        ),
        sources.AUTHORITY_FIRST,
    )
    draft.ask(
        "no_authority", say("What stands before {written}?", written=written), *choices, "nothing"
    )


def ask_serial_or(draft: Draft, match: re.Match[str], other: str) -> int:
    """Ask whether a word where the serial number may stand is that or ``other``."""
    token = match[0].strip()
    draft.ask(
        f"serial_or_{other.replace(' ', '_')}",
        say("Is {token} the serial number or a {other}?", token=token, other=other),
        say("serial number {token}", token=token),
        f"{other} {token}",
    )
    draft.awaits = MAKER
    return match.end()


def single_trip(draft: Draft, match: re.Match[str]) -> int:
    """Read a non-refillable cylinder's mark: service and test pressure after a slash."""
    authority, service, test = match.group("single_by", "single_sp", "single_tp")
    found = PendingOriginal(authority.replace(".", ""), "39", psi(service) if service else None)
    found.test_pressure = psi(test) if test else None
    _open(draft, found)
    draft.warn(
        "single_trip",
        say("DOT-39 is made for one filling: never fill it again, never requalify it"),
        sources.SINGLE_TRIP,
    )
    if service and test and Decimal(service) > Decimal(test):
        draft.warn(
            "working_over_test",
            say(
                "Service pressure {service} psi stands above test pressure {test} psi",
                service=service,
                test=test,
            ),
            sources.SINGLE_TRIP,
        )
    draft.not_refillable = True
    return match.end()


def permit(draft: Draft, match: re.Match[str]) -> int:
    """Read a special permit or exemption. Its factor is never assumed."""
    authority, style, number, gap, figure, unit, plus = match.group(
        "permit_by", "style", "permit_no", "permit_gap", "permit_sp", "permit_unit", "permit_plus"
    )
    canadian = style in {"SU", "SH"}
    if (authority is None and style != "SP") or canadian != (authority == "TC"):
        return 0
    if authority is None and draft.awaits == SERIAL and draft.pending:
        return ask_serial_or(draft, match, say("special permit"))
    end = match.end()
    if figure and (Decimal(figure) > HIGHEST["psi"]):
        figure, end = None, match.start("permit_gap")
    found = PendingOriginal((authority or "DOT").replace(".", ""), SPECIAL_PERMIT, None)
    found.style = _STYLES[style]
    found.plus = bool(plus)
    _open(draft, found)
    if len(number) > _PERMIT_DIGITS:
        _ask_where_to_split(draft, match[0], number)
    else:
        found.permit = number
        found.pressure = _permit_pressure(draft, found, gap, figure, unit)
    _warn_of_permit(draft, found, bare_style=authority is None)
    return end


def _ask_where_to_split(draft: Draft, written: str, number: str) -> None:
    """Ask where a permit's number ends and the pressure begins when they are run together."""
    splits = [
        say("permit {number}, {figure} psi", number=number[:cut], figure=number[cut:])
        for cut in (5, 4, 3)
        if number[cut] != "0" and _LEAST <= int(number[cut:]) <= HIGHEST["psi"]
    ]
    draft.ask(
        "permit_and_pressure",
        say("Where does the permit's number end in {written}?", written=written),
        *splits,
        say("none of these"),
    )


def _permit_pressure(
    draft: Draft, found: PendingOriginal, gap: str | None, figure: str | None, unit: str | None
) -> Quantity | None:
    """Return a permit's stamped pressure, ``None`` where its unit or its place leaves a doubt."""
    if figure is None:
        draft.warn(
            "pressure_missing",
            say("No service pressure was read behind permit {permit}", permit=found.permit),
            sources.PERMIT,
        )
        return None
    below = "\n" in (gap or "")
    open_unit = found.authority == "TC" or UNIT_NAMES[unit or "PSI"] != "psi"
    if below:
        _ask_which(draft, say("permit {permit}", permit=found.permit), figure, "psi")
        draft.close()
    elif open_unit:
        question = say(
            "In which unit is {figure} behind permit {permit}?", figure=figure, permit=found.permit
        )
        draft.ask(
            "pressure_unit",
            question,
            say("{figure} bar", figure=figure),
            say("{figure} psi", figure=figure),
        )
    return None if below or open_unit else psi(figure)


def _warn_of_permit(draft: Draft, found: PendingOriginal, *, bare_style: bool) -> None:
    """Say that only the permit has the figures; more for the early ones without DOT."""
    example = ""
    if found.pressure is not None and found.pressure.value == Decimal(3442):
        example = say(": 3442 may be tested at 5250 psi, 3/2 of a design pressure of 3500")
    draft.warn(
        "permit_sets_figures",
        say(
            "Permit {permit}: test pressure, period, limit and life come from the "
            "permit in force, not from 5/3 of the stamped pressure{example}",
            permit=found.permit or say("(number open)"),
            example=example,
        ),
        sources.PERMIT,
    )
    if bare_style:
        draft.warn(
            "early_permit",
            say(
                "An early aluminium permit may have expired without becoming 3AL: check it "
                "before any fill"
            ),
            sources.EARLY_PERMIT,
        )
