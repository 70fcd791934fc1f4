"""Checks of the lab: its apparatus on the day, its number, a repeat, a permit it works to."""

import datetime as dt

from cylinders.rules import calibration, gauge, lab_number, proof_pressure, repeat
from cylinders.rules.judgement.case import Case
from cylinders.rules.judgement.ruling import LabStanding, Ruling, Verdict, merged
from cylinders.rules.specifications import SPECIAL_PERMIT
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say, together

_APPROVAL = Citation("49 CFR 180.205(b)", "2019-10-01")
_DAILY = Citation("49 CFR 180.205(g)(3)", "2019-10-01")
_GATES = Citation("49 CFR 180.205(f) and 180.215(b)(2)", "2019-10-01")
_PERMIT = Citation("49 CFR 180.205(c) and (i)(1)(vii)", "2019-10-01")


def daily_calibration(case: Case) -> Ruling:
    """Out of tolerance is no valid test; what the certificate does not reach is held."""
    check = case.body.calibration
    if check is None and case.on_file and case.on_file.no_check:
        return Ruling(
            Finding("calibration", Outcome.UNKNOWN, case.on_file.no_check, _DAILY), Verdict.HELD
        )
    findings = calibration.judge(
        check, tested=case.body.date, test_pressure=case.body.test_pressure
    )
    finding = merged(findings)
    if check is None:
        return Ruling(finding)
    effect = {Outcome.FAIL: Verdict.INVALID, Outcome.UNKNOWN: Verdict.HELD}
    return Ruling(finding, effect.get(finding.outcome, Verdict.PASSED))


def pressure_gauge(case: Case) -> Ruling:
    """A device that may not be used at this pressure or expansion makes the test invalid."""
    body, day = case.body, case.body.date
    findings = [gauge.judge(body.gauge, test_pressure=body.test_pressure, on=day)]
    if body.reading_increment and case.readable:
        step, total = body.reading_increment, case.readable.total
        findings.append(gauge.expansion_readable(step, total, on=day))
    finding = merged(findings)
    fails = finding.outcome is Outcome.FAIL
    return Ruling(finding, Verdict.INVALID if fails else Verdict.PASSED)


def gates(case: Case) -> Ruling | None:
    """Inspections and a drying that the lab reported by themselves, where one contradicts this."""
    against = case.on_file.against if case.on_file else ()
    if not against:
        return None
    return Ruling(Finding("gates", Outcome.FAIL, together(against), _GATES), Verdict.HELD)


def rin(case: Case) -> Ruling:
    """The lab's number, in force on the day of the test; not looked up is no reason to hold."""
    lab, number = case.lab, case.body.rin
    if not (len(number) == len("A123") and number.isascii() and number.isalnum()):
        says = say(
            "{number!r} is no requalifier number; it has four letters or figures (A123).",
            number=number,
        )
        return Ruling(_number(Outcome.FAIL, says), Verdict.HELD)
    if lab is None:
        return Ruling(
            _number(
                Outcome.UNKNOWN,
                say("Requalifier number {number} was not looked up.", number=number),
            )
        )
    if lab.rin != number:
        says = say(
            "The record gives requalifier number {number}, the lab's own is {rin}.",
            number=number,
            rin=lab.rin,
        )
        return Ruling(_number(Outcome.FAIL, says), Verdict.HELD)
    if lab.valid_until is None:
        says = say("How long requalifier number {number} is in force is not known.", number=number)
        return Ruling(_number(Outcome.UNKNOWN, says), Verdict.HELD)
    return _in_force(lab, case) or Ruling(_still_in_force(lab.valid_until, case))


def _still_in_force(valid_until: dt.date, case: Case) -> Finding:
    """In force on the day; a caution where it is soon to end."""
    told = lab_number.standing(case.body.rin, valid_until, on=case.body.date)
    if told.outcome is Outcome.CAUTION:
        return told
    says = say(
        "Requalifier number {number} was in force on {tested}.",
        number=case.body.rin,
        tested=case.body.date,
    )
    return _number(Outcome.OK, says)


def _in_force(lab: LabStanding, case: Case) -> Ruling | None:
    tested = case.body.date
    early = lab.valid_from is not None and tested < lab.valid_from
    late = lab.valid_until is not None and tested > lab.valid_until
    if not (early or late):
        return None
    when = (
        say("only from {valid_from}", valid_from=lab.valid_from)
        if early
        else say("only until {valid_until}", valid_until=lab.valid_until)
    )
    says = say(
        "Requalifier number {rin} is in force {when}; the test was on {tested}.",
        rin=lab.rin,
        when=when,
        tested=tested,
    )
    return Ruling(_number(Outcome.FAIL, says), Verdict.INVALID)


def _number(outcome: Outcome, says: str) -> Finding:
    return Finding("rin", outcome, says, _APPROVAL)


def repeat_test(case: Case) -> Ruling | None:
    """A second test, and the system check before a first one."""
    findings: list[Finding] = []
    before, required = case.body.system_check_pressure, case.required
    if before and required:
        findings.append(proof_pressure.system_check(before, required, on=case.body.date))
    if case.body.repeat_of is not None:
        findings.append(_second(case, case.body.repeat_of))
    if not findings:
        return None
    finding = merged(findings)
    effect = {Outcome.FAIL: Verdict.INVALID, Outcome.UNKNOWN: Verdict.HELD}
    return Ruling(finding, effect.get(finding.outcome, Verdict.PASSED))


def _second(case: Case, reference: str) -> Finding:
    test = next((test for test in case.previous if test.lab_reference == reference), None)
    earlier = None
    if test is not None:
        condemns = test.over_limit or test.verdict is Verdict.CONDEMNED
        earlier = repeat.Earlier(reference, test.test_pressure, condemns)
    return repeat.judge(
        earlier,
        reached=case.body.test_pressure,
        required=case.required,
        reason=case.body.reason,
        on=case.body.date,
    )


def permit(case: Case) -> Ruling | None:
    """Figures that only a permit sets, and a permit that must set them."""
    needs = case.spec is not None and case.spec.code == SPECIAL_PERMIT
    sent = [case.body.limit_percent, case.body.required_test_pressure]
    if case.body.cylinder.permit is None:
        return _without(case, needs=needs, sent=any(one is not None for one in sent))
    if case.permit and case.permit.expires and case.permit.expires < case.body.date:
        says = say(
            "Permit {permit} is entered as in force until {expires}.",
            permit=case.permit.permit,
            expires=case.permit.expires,
        )
        return _held(says)
    weaker = _weaker(case)
    if weaker:
        return _held(weaker)
    if case.permit:
        says = say("Judged by permit {permit} as entered here.", permit=case.permit.permit)
        return Ruling(Finding("permit", Outcome.OK, says, case.permit.cites))
    missing = case.required is None or (case.limit is None and case.read is not None)
    if missing:
        return _held(
            say(
                "What permit {permit} asks for is not known. Read it.",
                permit=case.body.cylinder.permit,
            )
        )
    says = say(
        "Permit {permit} is not entered here; figures as the lab gives them.",
        permit=case.body.cylinder.permit,
    )
    return Ruling(Finding("permit", Outcome.CAUTION, says, _PERMIT))


def _without(case: Case, *, needs: bool, sent: bool) -> Ruling | None:
    if needs:
        return _held(
            say("A special permit cylinder needs the number of its permit. Read the stamp.")
        )
    if not sent or case.is_un:
        return None
    weaker = _weaker(case)
    if weaker or case.spec is None:
        return _held(weaker or say("A limit or pressure of a permit is given without its number."))
    says = say("A limit or pressure is given without a permit; it is no weaker than the rule's.")
    return Ruling(Finding("permit", Outcome.CAUTION, says, _PERMIT))


def _weaker(case: Case) -> str:
    """Whether the lab's figures ask for less than the specification or the permit on file."""
    limit, asked = case.body.limit_percent, case.body.required_test_pressure
    if limit is not None and case.limit and limit > case.limit.percent:
        return say(
            "A limit of {limit:f} % is given, but {percent:f} % is on file ({cites}). "
            "A person decides.",
            limit=limit,
            percent=case.limit.percent,
            cites=case.limit.cites,
        )
    if asked is not None and case.required and asked < case.required:
        return say(
            "A test pressure of {asked} is given as required, but {required} follows "
            "from the specification or the permit on file. A person decides.",
            asked=asked,
            required=case.required,
        )
    return ""


def _held(says: str) -> Ruling:
    return Ruling(Finding("permit", Outcome.UNKNOWN, says, _PERMIT), Verdict.HELD)
