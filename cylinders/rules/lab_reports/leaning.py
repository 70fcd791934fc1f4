"""Which reports a test record leans on: the check of its day, the gates before it, its drying.

    the check it names            must be of the day of the test, and right at its pressure
    it names none                 the newest check of that day and apparatus near its pressure
    no apparatus named, several   each must be right; which one was used is not guessed
    a proof pressure test         reads no expansion: no calibrated cylinder is asked of it

Of the inspections of one gate the latest counts. One after the day of the test was no gate before
it. Source: 49 CFR 180.205(f) and (g)(3)-(4), 2019-10-01; how a check is found is the house's rule.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from cylinders.rules import calibration
from cylinders.rules.eddy_current import Examination
from cylinders.rules.judgement.body import Drying, TestBody, ThreadInspection
from cylinders.rules.judgement.on_file import OnFile
from cylinders.rules.lab_reports.bodies import (
    CalibrationBody,
    Came,
    DryingBody,
    Gate,
    InspectionBody,
)
from cylinders.rules.lab_reports.judging import fits
from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Outcome
from cylinders.rules.wording import say, together


@dataclass(frozen=True, slots=True)
class Check:
    """A standing check and the number of its row."""

    row: int
    body: CalibrationBody
    came: Came
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """A standing inspection or drying of the visit."""

    row: int
    body: InspectionBody | DryingBody
    came: Came
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shelf:
    """Everything of one lab that may bear on a record."""

    checks: tuple[Check, ...] = ()
    seen: tuple[Seen, ...] = ()


@dataclass(slots=True)
class _Found:
    """What the gates come to while they are gone through."""

    against: list[str] = field(default_factory=list)
    passed: dict[Gate, InspectionBody] = field(default_factory=dict)


def on_file(body: TestBody, shelf: Shelf) -> OnFile:
    """What of the shelf the record leans on."""
    check, why = _check_of_day(body, shelf.checks)
    gates = _gates(body, shelf.seen)
    dried = _drying(body, shelf.seen, gates.against)
    leans = check if check and body.calibration is None else None
    eddy, threads = gates.passed.get(Gate.EDDY_CURRENT), gates.passed.get(Gate.THREADS)
    return OnFile(
        check=check.row if check else None,
        calibration=leans.body.at(_nearest(leans.body, body.test_pressure)) if leans else None,
        gauge=leans.body.gauge if leans else None,
        no_check=why,
        inside=Gate.INSIDE in gates.passed,
        outside=Gate.OUTSIDE in gates.passed,
        threads=ThreadInspection("pass", threads.method, threads.notes) if threads else None,
        eddy_current=_examination(eddy),
        drying=dried,
        against=tuple(gates.against),
    )


def _examination(eddy: InspectionBody | None) -> Examination | None:
    if eddy is None or eddy.crack_thread_lengths is None:
        return None
    crack = eddy.crack_thread_lengths
    return Examination(eddy.result, crack, eddy.equipment, eddy.reference_ring)


def _nearest(check: CalibrationBody, pressure: Quantity) -> calibration.Observed:
    return min(check.readings, key=lambda one: abs(one.pressure.base - pressure.base))


def _check_of_day(body: TestBody, checks: Sequence[Check]) -> tuple[Check | None, str]:
    """The check, or why there is none to lean on; neither where none is asked for."""
    if body.daily_check is not None:
        named = next((one for one in checks if one.body.lab_reference == body.daily_check), None)
        if body.calibration is not None:
            return named, ""
        if named is None:
            says = say(
                "It names the check {reference}, which has not come.", reference=body.daily_check
            )
            return None, says
        return _right(named, body)
    if body.calibration is not None or body.method == "proof_pressure":
        return None, ""
    return _by_day(body, [one for one in checks if one.body.date == body.date])


def _by_day(body: TestBody, checks: Sequence[Check]) -> tuple[Check | None, str]:
    named = body.apparatus
    by_apparatus: dict[str, list[Check]] = {}
    for one in sorted(checks, key=lambda one: (one.body.time, one.row)):
        if named in (None, one.body.apparatus):
            by_apparatus.setdefault(one.body.apparatus, []).append(one)
    if not by_apparatus:
        of = say(" of {apparatus}", apparatus=named) if named else ""
        says = say(
            "No check{of} with a calibrated cylinder on {date} has come.", of=of, date=body.date
        )
        return None, says
    found: list[Check] = []
    for apparatus, of_it in by_apparatus.items():
        near = [one for one in of_it if _is_near(one.body, body)] or of_it
        check, why = _right(near[-1], body)
        if check is None:
            ask = say(" Name the apparatus of this test.") if len(by_apparatus) > 1 else ""
            return None, say("{apparatus}: {why}{ask}", apparatus=apparatus, why=why, ask=ask)
        found.append(check)
    return max(found, key=lambda one: (one.body.time, one.row)), ""


def _is_near(check: CalibrationBody, body: TestBody) -> bool:
    return calibration.near_enough(
        _nearest(check, body.test_pressure).pressure, body.test_pressure, tested=body.date
    )


def _right(check: Check, body: TestBody) -> tuple[Check | None, str]:
    """The check where it was right for this test, else why it was not."""
    sent, reference = check.body, check.body.lab_reference
    if sent.date != body.date:
        says = say(
            "The check {reference} is of {date}; the test was on {tested}.",
            reference=reference,
            date=sent.date,
            tested=body.date,
        )
        return None, says
    if body.apparatus and body.apparatus != sent.apparatus:
        says = say(
            "The check {reference} is of {theirs}, the test of {ours}.",
            reference=reference,
            theirs=sent.apparatus,
            ours=body.apparatus,
        )
        return None, says
    bad = [
        one.says
        for one in fits(sent, body.test_pressure)
        if one.outcome in (Outcome.FAIL, Outcome.UNKNOWN)
    ]
    if check.came is not Came.PASSED:
        bad += [says for says in check.reasons if says not in bad]
    if bad or check.came is not Came.PASSED:
        says = say(
            "The check {reference} cannot be leaned on: {why}",
            reference=reference,
            why=together(bad),
        )
        return None, says
    return check, ""


def _gates(body: TestBody, seen: Iterable[Seen]) -> _Found:
    found = _Found()
    latest: dict[Gate, tuple[Seen, InspectionBody]] = {}
    for one in sorted(seen, key=lambda one: (one.body.date, one.row)):
        if isinstance(one.body, InspectionBody):
            latest[one.body.gate] = (one, one.body)
    for gate, (one, sent) in latest.items():
        _gate(body, gate, one, sent, found)
    return found


def _gate(body: TestBody, gate: Gate, one: Seen, sent: InspectionBody, found: _Found) -> None:
    told = {"gate": gate.value, "reference": sent.lab_reference, "date": sent.date}
    if one.came is Came.PASSED:
        if sent.date <= body.date:
            found.passed[gate] = sent
        elif not _says_pass(body, gate):
            says = say(
                "Inspection {reference} ({gate}) is of {date}, after the test of {tested}.",
                tested=body.date,
                **told,
            )
            found.against.append(says)
    elif body.disposition == "passed":
        why = together(one.reasons)
        found.against.append(
            say("Inspection {reference} of {date} ({gate}) did not pass: {why}", why=why, **told)
        )


def _says_pass(body: TestBody, gate: Gate) -> bool:
    own = {
        Gate.INSIDE: body.visual.internal,
        Gate.OUTSIDE: body.visual.external,
        Gate.THREADS: body.thread_inspection and body.thread_inspection.result,
        Gate.EDDY_CURRENT: body.eddy_current and body.eddy_current.result,
    }
    return own[gate] == "pass"


def _drying(body: TestBody, seen: Iterable[Seen], against: list[str]) -> Drying | None:
    """The drying that counts: one that did not pass before one that did, then the latest."""
    reports = [(one, one.body) for one in seen if isinstance(one.body, DryingBody)]
    if not reports:
        return None
    one, sent = max(
        reports, key=lambda pair: (pair[0].came is not Came.PASSED, pair[1].date, pair[0].row)
    )
    if body.drying is not None and one.came is not Came.PASSED and body.disposition == "passed":
        says = say(
            "Drying {reference} of {date} did not pass: {why}",
            reference=sent.lab_reference,
            date=sent.date,
            why=together(one.reasons),
        )
        against.append(says)
    elif one.came is Came.UNKNOWN:
        against.append(together(one.reasons))
    return Drying(sent.method, sent.temperature)
