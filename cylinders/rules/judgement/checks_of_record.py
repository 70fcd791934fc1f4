"""Checks of the record against itself: disposition, stamp, plus, and the cylinder as known here.

The last has a code of its own, ``cylinder``; it appears only where the service knows the cylinder.
"""

import datetime as dt
from collections.abc import Iterable
from fractions import Fraction

from cylinders.rules import wall_stress
from cylinders.rules.judgement.case import Case, permit_number, symbol_of
from cylinders.rules.judgement.ruling import ORDER, KnownCylinder, Ruling, Verdict, standing
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import find
from cylinders.rules.symbols import find_symbol
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import phrase, say, together

_DISPOSITION = Citation("49 CFR 180.205(h), (i) and 180.215(b)(2)", "2019-10-01")
_MARK = Citation("49 CFR 180.213", "2019-10-01")
_RECORD = Citation("49 CFR 180.215(b)(2)", "2019-10-01")
_LAST_OF_OLD_STEEL = 1919
#: a dual mark gives one pressure in psi and in bar, rounded: 207 bar and 3000 psi
_SAME_PRESSURE = Fraction(5, 1000)
#: a rule of the house: the lab may stand in a time zone whose day is behind the shop's
_ANOTHER_ZONE = dt.timedelta(days=1)
_OTHER_EXAMINATIONS = frozenset({"E", "FS", "UE", "AE"})


_CONTRADICTS = phrase(
    "The lab says {said}; its numbers and inspections come to {computed}.{why} A person decides."
)


def disposition(case: Case, rulings: Iterable[Ruling]) -> Ruling:
    """What the lab did with the cylinder against what its findings come to."""
    counted = standing(rulings)
    about_cylinder = {one.leads_to for one in counted} & {Verdict.REJECTED, Verdict.CONDEMNED}
    computed = max(about_cylinder, key=ORDER.index, default=Verdict.PASSED)
    said = Verdict(case.body.disposition)
    if said is computed:
        invalid = any(one.leads_to is Verdict.INVALID for one in counted)
        if invalid and said is Verdict.PASSED:
            says = say("The lab passed the cylinder, but this was no valid test.")
            return Ruling(Finding("disposition", Outcome.CAUTION, says, _DISPOSITION))
        says = say("The lab's disposition ({said}) agrees with its findings.", said=said)
        return Ruling(Finding("disposition", Outcome.OK, says, _DISPOSITION))
    why = say(" The lab's reason: {reason}", reason=case.body.reason) if case.body.reason else ""
    says = say(_CONTRADICTS, said=said, computed=computed, why=why)
    return Ruling(Finding("disposition", Outcome.FAIL, says, _DISPOSITION), Verdict.HELD)


def stamp(case: Case) -> Ruling:
    """The mark against the day, the method and the disposition."""
    mark, tested = case.body.stamp, case.body.date
    passed = case.body.disposition == "passed"
    if mark is None:
        outcome = Outcome.UNKNOWN if passed else Outcome.OK
        says = say("No stamp is reported.")
        if passed:
            says = say("No stamp is reported: read it from the cylinder.")
        finding = Finding("stamp", outcome, says, _MARK)
        return Ruling(finding, Verdict.HELD if passed else Verdict.PASSED)
    wrong = ""
    if not passed:
        wrong = say(
            "a {disposition} cylinder carries no requalification mark",
            disposition=case.body.disposition,
        )
    elif (mark.year, mark.month) != (tested.year, tested.month):
        wrong = say(
            "it says {month} {year}, the test was on {tested}",
            month=mark.month,
            year=mark.year,
            tested=tested,
        )
    wrong = wrong or _symbol(case)
    if wrong:
        says = say("The stamp contradicts the record: {wrong}.", wrong=wrong)
        return Ruling(Finding("stamp", Outcome.FAIL, says, _MARK), Verdict.HELD)
    late = _run_out(case)
    if late is not None:
        says = say(
            "The stamp agrees, but its period ran out in {late}: check the year of the test.",
            late=late,
        )
        return Ruling(Finding("stamp", Outcome.CAUTION, says, _MARK))
    return Ruling(Finding("stamp", Outcome.OK, say("The stamp agrees with the record."), _MARK))


def _run_out(case: Case) -> Month | None:
    """The month the period from this test ended in, where that is past."""
    ends = case.next_due
    return ends if ends is not None and ends < Month.of(case.on) else None


def _symbol(case: Case) -> str:
    """What is wrong with the symbol after the date; empty where nothing is."""
    mark = case.body.stamp
    stamped = "" if mark is None or not mark.symbol.strip() else symbol_of(case.body)
    row = find_symbol(stamped)
    if row is None:
        return say("{stamped!r} is no symbol of 180.213(f)", stamped=stamped)
    proof = case.body.method == "proof_pressure"
    if proof != (stamped == "S"):
        return say(
            "symbol {stamped} does not go with {method}",
            stamped=stamped or say("(none)"),
            method=case.body.method,
        )
    if stamped in _OTHER_EXAMINATIONS:
        return say(
            "symbol {stamped} is for {test}, not for a pressure test",
            stamped=stamped,
            test=row.test,
        )
    if stamped == "VE" and case.body.eddy_current is None:
        return say("VE is stamped, but no eddy current examination is reported")
    if stamped == "star" and (case.body.use.breathing or not _star_allowed(case)):
        return say("a star is for 3A and 3AA outside breathing service only")
    return ""


def _star_allowed(case: Case) -> bool:
    return bool(case.spec and case.spec.star_allowed)


def plus(case: Case) -> Ruling | None:
    """A plus that was stamped: was it allowed to be."""
    if symbol_of(case.body) != "+":
        return None
    if case.spec is None:
        says = say("A plus is stamped on a cylinder whose specification is not known.")
        finding = Finding("plus", Outcome.UNKNOWN, says, _MARK)
        return Ruling(finding, Verdict.HELD)
    first = case.facts.first_test
    finding = wall_stress.plus(
        case.spec,
        _stretch(case),
        water_jacket=case.body.method == "water_jacket",
        before_1920=bool(first and first.year <= _LAST_OF_OLD_STEEL),
    )
    return Ruling(finding, Verdict.PASSED if finding.passed else Verdict.HELD)


def _stretch(case: Case) -> wall_stress.Stretch | None:
    if case.readable is None or case.required is None:
        return None
    return wall_stress.Stretch(
        elastic=case.readable.elastic_base,
        capacity=case.body.cylinder.water_capacity,
        pressure=case.required,
        ree=case.body.ree,
    )


def cylinder(case: Case) -> Ruling | None:
    """The cylinder in the record against the one the service knows."""
    known = case.known
    if known is None:
        return None
    wrong = [*_identity(case, known), *_permit(case, known), *_pressure(case, known)]
    of_another = bool(wrong)
    if known.condemned:
        wrong.append(say("it is condemned here, and nothing restores a condemned cylinder"))
    if known.came_on and case.body.date < known.came_on - _ANOTHER_ZONE:
        wrong.append(
            say(
                "tested on {tested}, before it was dropped off on {came}",
                tested=case.body.date,
                came=known.came_on,
            )
        )
    if wrong:
        says = say(
            "The record does not fit this cylinder: {wrong}. A person decides.",
            wrong="; ".join(wrong),
        )
        finding = Finding("cylinder", Outcome.FAIL, says, _RECORD)
        return Ruling(finding, Verdict.HELD, of_another=of_another)
    says = say("The record names this cylinder as it is known here.")
    return Ruling(Finding("cylinder", Outcome.OK, says, _RECORD))


def _identity(case: Case, known: KnownCylinder) -> list[str]:
    sent = case.body.cylinder
    pairs = (
        ("serial", sent.serial, known.serial),
        (say("maker's mark"), sent.manufacturer_mark, known.manufacturer_mark),
        ("alloy", sent.alloy, known.alloy),
    )
    wrong = [
        say("{what} {theirs!r} in the record, {ours!r} here", what=what, theirs=theirs, ours=ours)
        for what, theirs, ours in pairs
        if theirs and ours and theirs.upper() != ours.upper()
    ]
    if sent.first_test and known.first_test and sent.first_test != known.first_test:
        wrong.append(
            say(
                "first test {first_test} in the record, {ours} here",
                first_test=sent.first_test,
                ours=known.first_test,
            )
        )
    code = case.facts.specification
    if (
        code
        and known.specifications
        and not _family(code)
        & {family for ours in known.specifications for family in _family(ours)}
    ):
        ours = together(known.specifications, by=say(" and "))
        wrong.append(
            say(
                "specification {specification} in the record, {ours} here",
                specification=sent.specification,
                ours=ours,
            )
        )
    return wrong


def _permit(case: Case, known: KnownCylinder) -> list[str]:
    """A permit sets its own test (49 CFR 180.205(c)): one named on one side alone contradicts."""
    theirs = permit_number(case.body.cylinder.permit) or ""
    ours = permit_number(known.permit) or ""
    if known.permit is None or theirs == ours:
        return []
    none = say("none")
    return [
        say("permit {theirs} in the record, {ours} here", theirs=theirs or none, ours=ours or none)
    ]


def _family(code: str) -> set[str]:
    """A metric Canadian code counts as its US twin too: dual marks carry both."""
    row = find(code)
    return {code, row.us_equivalent} if row and row.us_equivalent else {code}


def _pressure(case: Case, known: KnownCylinder) -> list[str]:
    theirs = case.body.cylinder.service_pressure
    if theirs is None or not known.service_pressures:
        return []
    if any(_same(theirs, ours) for ours in known.service_pressures):
        return []
    ours = together(map(str, known.service_pressures), by=say(" and "))
    return [say("service pressure {theirs} in the record, {ours} here", theirs=theirs, ours=ours)]


def _same(theirs: Quantity, ours: Quantity) -> bool:
    if theirs.unit == ours.unit:
        return theirs == ours
    return abs(theirs.base - ours.base) <= ours.base * _SAME_PRESSURE
