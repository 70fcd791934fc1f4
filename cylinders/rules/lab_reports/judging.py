"""What a report comes to by itself, before any test record leans on it.

    calibration    each reading within 1.0 % of the certificate, no permanent expansion
                   (49 CFR 180.205(g)(3)-(4)); the gauge fit for it (:mod:`cylinders.rules.gauge`)
    inspection     the lab's own pass or fail; eddy current by its crack (part 180 appendix C)
    drying         the metal's limit (49 CFR 180.203; :mod:`cylinders.rules.heat`)

Read in the 2019-10-01 edition. A report in doubt is ``unknown``, and unknown opens no gate.
"""

from dataclasses import dataclass

from cylinders.rules import calibration, eddy_current, gauge, heat, visual
from cylinders.rules.alloys import judge_alloy
from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.lab_reports.bodies import (
    Body,
    CalibrationBody,
    Came,
    DryingBody,
    Gate,
    InspectionBody,
)
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import find
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_GATE = Citation("49 CFR 180.205(f) and 180.209(m)", "2019-10-01")
_THREADS = Citation("neck threads looked at by scope", "", Certainty.COMMON_PRACTICE)
_RECORD = Citation("49 CFR 180.215(b)(2)", "2019-10-01")
_CERTIFICATE = Citation("49 CFR 180.205(g)(4)", "2019-10-01")
#: an unknown gauge is said and stands in no way, as with a test record
_MAY_BE_UNKNOWN = frozenset({"gauge"})


@dataclass(frozen=True, slots=True)
class Known:
    """The cylinder that a report names, as it is known here."""

    facts: CylinderFacts
    serial: str
    manufacturer_mark: str


@dataclass(frozen=True, slots=True)
class ReportJudgement:
    """What the report comes to, and every check with its reason and clause."""

    came: Came
    checks: tuple[Finding, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """The sentences for which it did not pass."""
        bad = (Outcome.FAIL, Outcome.UNKNOWN)
        return tuple(one.says for one in self.checks if one.outcome in bad and not _passable(one))


def judge(body: Body, known: Known | None = None) -> ReportJudgement:
    """Judge a report; ``known`` is the cylinder of an inspection or a drying."""
    if isinstance(body, CalibrationBody):
        findings = _calibration(body)
    elif known is None:
        raise ValueError("an inspection and a drying are of a cylinder")
    elif isinstance(body, InspectionBody):
        findings = [_inspection(body, known.facts), *_identity(body, known)]
    else:
        findings = [_drying(body, known.facts), *_identity(body, known)]
    return ReportJudgement(_came(findings), tuple(findings))


def _passable(finding: Finding) -> bool:
    return finding.code in _MAY_BE_UNKNOWN and finding.outcome is Outcome.UNKNOWN


def _came(findings: list[Finding]) -> Came:
    counted = {one.outcome for one in findings if not _passable(one)}
    if Outcome.FAIL in counted:
        return Came.FAILED
    return Came.UNKNOWN if Outcome.UNKNOWN in counted else Came.PASSED


def fits(body: CalibrationBody, pressure: Quantity) -> list[Finding]:
    """The findings of the check as a test at ``pressure`` would lean on it; its nearest reading."""
    near = min(body.readings, key=lambda one: abs(one.pressure.base - pressure.base))
    found = calibration.judge(body.at(near), tested=body.date, test_pressure=pressure)
    device = gauge.judge(body.gauge, test_pressure=pressure, on=body.date)
    return [*found, *([device] if body.gauge else [])]


def _calibration(body: CalibrationBody) -> list[Finding]:
    findings: list[Finding] = []
    for seen in body.readings:
        check = body.at(seen)
        findings += calibration.judge(check, tested=body.date, test_pressure=seen.pressure)
        if body.expansion_range and seen.expansion > body.expansion_range:
            says = say(
                "{read} lies beyond the device, which reads to {end}.",
                read=seen.expansion,
                end=body.expansion_range,
            )
            findings.append(Finding("expansion_device", Outcome.FAIL, says, _CERTIFICATE))
        if body.expansion_increment:
            findings.append(
                gauge.expansion_readable(body.expansion_increment, seen.expansion, on=body.date)
            )
    highest = max((one.pressure for one in body.readings), key=lambda one: one.base)
    findings.append(gauge.judge(body.gauge, test_pressure=highest, on=body.date))
    if body.certified_on > body.date:
        says = say(
            "The certificate is of {certified}, after the check.", certified=body.certified_on
        )
        findings.append(Finding("certificate", Outcome.FAIL, says, _CERTIFICATE))
    return list(dict.fromkeys(findings))


def _inspection(body: InspectionBody, facts: CylinderFacts) -> Finding:
    if body.gate is Gate.EDDY_CURRENT and body.crack_thread_lengths is not None:
        exam = eddy_current.Examination(
            body.result, body.crack_thread_lengths, body.equipment, body.reference_ring
        )
        needed = eddy_current.need(judge_alloy(facts), facts.service)
        return eddy_current.judge(exam, needed, on=body.date)
    cites = _THREADS if body.gate is Gate.THREADS else _GATE
    what = body.gate.value
    if body.result == "fail":
        notes = f" {body.notes}" if body.notes else ""
        says = say("Looked at: {what}, failed.{notes}", what=what, notes=notes)
        return Finding(what, Outcome.FAIL, says, cites)
    expected = visual.standard_for(find(facts.specification or ""))
    looked = body.gate in (Gate.INSIDE, Gate.OUTSIDE)
    if looked and expected and visual.key(body.standard) != visual.key(expected):
        says = say(
            "Passed by {standard}, but {expected} is the standard for this cylinder.",
            standard=body.standard or say("no named standard"),
            expected=expected,
        )
        return Finding(what, Outcome.CAUTION, says, cites)
    return Finding(what, Outcome.OK, say("Looked at: {what}, passed.", what=what), cites)


def _drying(body: DryingBody, facts: CylinderFacts) -> Finding:
    spec = find(facts.specification or "")
    metal = spec.material if spec else None
    return heat.drying(body.method, body.temperature, metal, on=body.date)


def _identity(body: InspectionBody | DryingBody, known: Known) -> list[Finding]:
    """The marks that were sent against those known here."""
    pairs = (
        (say("serial"), body.cylinder.serial, known.serial),
        (say("maker's mark"), body.cylinder.manufacturer_mark, known.manufacturer_mark),
    )
    return [
        Finding(
            "cylinder",
            Outcome.UNKNOWN,
            say(
                "{what} {theirs!r} in the report, {ours!r} here.",
                what=what,
                theirs=theirs,
                ours=ours,
            ),
            _RECORD,
        )
        for what, theirs, ours in pairs
        if theirs and ours and _folded(theirs) != _folded(ours)
    ]


def _folded(text: str) -> str:
    return "".join(character for character in text.upper() if character not in " -./")
