"""Checks of the readings: can they be, was it a test, how far did the cylinder stretch."""

from fractions import Fraction

from cylinders.rules import direct_expansion, plausibility, proof_pressure, water_jacket
from cylinders.rules.elasticity import METALS
from cylinders.rules.judgement.case import Case, authorities
from cylinders.rules.judgement.ruling import PreviousTest, Ruling, Verdict, merged
from cylinders.rules.month import Month
from cylinders.rules.periods import NoPeriod, tables_for
from cylinders.rules.retest_figures import Name, figure, share
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.water_jacket import Expansion
from cylinders.rules.wording import phrase, say

_CALENDAR = Citation("the calendar; 49 CFR 180.215(b)(2)", "2019-10-01")
_PROOF = Citation("49 CFR 180.205(g)(1) and 180.209(a) Table 1", "2019-10-01")
_PROOF_RECORD = Citation("PHMSA letter 21-0100", "2022-01-19", Certainty.SECOND_HAND)
_CANADA = frozenset({"TC", "CTC", "CRC", "BTC"})
_US = frozenset({"DOT", "ICC"})
_DIRECT = "direct_expansion"


def numbers_possible(case: Case) -> Ruling:
    """Readings, pressure and dates that cannot be make the test invalid."""
    findings = [
        _dates(case),
        proof_pressure.pressure_possible(case.body.test_pressure, case.required, on=case.body.date),
    ]
    if case.read:
        findings.append(water_jacket.possible(case.read, case.body.elastic_expansion))
        if case.readable and (likely := _likelihood(case, case.readable)):
            findings.append(plausibility.possible(likely))
    if case.read and case.body.method == _DIRECT:
        findings.append(direct_expansion.possible(case.read.total, case.body.water))
    finding = merged(findings)
    return Ruling(finding, Verdict.PASSED if finding.passed else Verdict.INVALID)


def _dates(case: Case) -> Finding:
    tested, first = case.body.date, case.facts.first_test
    if tested > case.on:
        says = say(
            "The test is dated {tested}, after {on}: that cannot be.", tested=tested, on=case.on
        )
        return Finding("numbers_possible", Outcome.FAIL, says, _CALENDAR)
    if first and first > Month.of(tested):
        says = say(
            "The test is dated {tested}, before the first test of the cylinder in {first}.",
            tested=tested,
            first=first,
        )
        return Finding("numbers_possible", Outcome.FAIL, says, _CALENDAR)
    return Finding("numbers_possible", Outcome.OK, say("The numbers can be."), _CALENDAR)


def _likelihood(case: Case, read: Expansion) -> plausibility.Case | None:
    capacity, material, spec = case.body.cylinder.water_capacity, case.material, case.spec
    if capacity is None or material not in METALS or spec is None:
        return None
    code = spec.us_equivalent or spec.code
    return plausibility.Case(
        specification=code,
        material=material,
        capacity=capacity,
        pressure=case.body.test_pressure,
        elastic=read.elastic_base,
        internal=case.body.method == _DIRECT,
        sphere=code.startswith("4D"),
    )


def pressure_reached(case: Case) -> Ruling:
    """Short is no valid test; a requirement that is not known, or a doubtful unit, is held.

    A doubt holds nothing where the numbers cannot be at all: then it was no valid test.
    """
    body, required = case.body, case.required
    service, on = body.cylinder.service_pressure, body.date
    reached = proof_pressure.pressure_reached(body.test_pressure, required, on=on)
    usual = proof_pressure.service_usual(case.spec, service, body.test_pressure, on=on)
    finding = merged((reached, usual))
    effect = {Outcome.FAIL: Verdict.INVALID, Outcome.UNKNOWN: Verdict.HELD}
    leads_to = effect.get(finding.outcome, Verdict.PASSED)
    doubtful = leads_to is Verdict.HELD and required is not None
    return Ruling(finding, leads_to, needs_valid_test=doubtful)


def hold(case: Case) -> Ruling:
    """Short is no valid test."""
    finding = proof_pressure.hold(case.body.hold_seconds, on=case.body.date)
    return Ruling(finding, Verdict.PASSED if finding.passed else Verdict.INVALID)


def permanent_expansion(case: Case) -> Ruling | None:
    """Above the limit condemns; without a limit, or without a measurement, a person decides."""
    if case.body.method == "proof_pressure":
        return _proof(case)
    read = case.readable
    if read is None:
        return None
    finding = _settled(case, read, water_jacket.permanent(read, case.limit))
    effect = {Outcome.FAIL: Verdict.CONDEMNED, Outcome.UNKNOWN: Verdict.HELD}
    leads_to = effect.get(finding.outcome, Verdict.PASSED)
    return Ruling(finding, leads_to, needs_valid_test=True)


_CANADIAN = phrase(
    "{finding} For Canadian marks a lower limit of {canadian} % is named too, and the "
    "standard was not read. A person decides."
)


_SMALLER_TOTAL = phrase(
    "{finding} With the smaller total that follows from the water forced in it is above the "
    "limit. Ask the lab for its readings."
)


def _settled(case: Case, read: Expansion, finding: Finding) -> Finding:
    """A pass stands only where no doubt about the limit or the total could turn it."""
    if finding.outcome is not Outcome.OK:
        return finding
    canadian = figure(Name.CANADIAN_LIMIT, on=case.body.date)
    if _is_canadian(case) and water_jacket.exceeds(read, canadian.value):
        says = say(_CANADIAN, finding=finding.says, canadian=canadian.value)
        return Finding(finding.code, Outcome.UNKNOWN, says, canadian.cites)
    smallest = _smallest_total(case, read)
    if case.limit and 100 * read.permanent.base > Fraction(case.limit.percent) * smallest:
        says = say(_SMALLER_TOTAL, finding=finding.says)
        return Finding(finding.code, Outcome.UNKNOWN, says, finding.cites)
    return finding


def _is_canadian(case: Case) -> bool:
    """A mark of Canada alone: a dual mark is requalified by Table 1 (180.205(c)) here."""
    marked = authorities(case.body)
    metric = bool(case.spec and case.spec.us_equivalent)
    return marked <= _CANADA or (metric and not marked & _US)


def _smallest_total(case: Case, read: Expansion) -> Fraction:
    """The total, or the low end of what follows from the water forced in, if that is less."""
    water, capacity = case.body.water, case.body.cylinder.water_capacity
    pressure = case.body.test_pressure
    if case.body.method != _DIRECT or water is None or capacity is None:
        return read.total.base
    if not direct_expansion.in_range(water, pressure):
        return read.total.base
    low = direct_expansion.internal_expansion(water, capacity, pressure).low
    return min(low, read.total.base)


_NONE_MEASURED = say(
    "Expansions are given, but a proof pressure test measures none. Ask the lab which method it "
    "used."
)


def _proof(case: Case) -> Ruling:
    """A proof test measures nothing; only some periods may be started by one."""
    if case.body.total_expansion or case.body.permanent_expansion:
        return _unmeasured(Outcome.UNKNOWN, _NONE_MEASURED, _PROOF_RECORD)
    tables = tables_for(case.facts, on=case.body.date, extra=case.extra)
    counts = isinstance(tables, NoPeriod) or all(
        any("S" in period.symbols for period in table) for table in tables
    )
    if not counts:
        code = case.facts.specification
        says = say(
            "No expansion was measured. A {code} in {use} service is requalified by a "
            "volumetric expansion test, not by a proof pressure test.",
            code=code,
            use=case.body.use,
        )
        return _unmeasured(Outcome.UNKNOWN, says, _PROOF)
    return _unmeasured(Outcome.OK, say("A proof pressure test has no expansion to record."), _PROOF)


def _unmeasured(outcome: Outcome, says: str, cites: Citation) -> Ruling:
    leads_to = Verdict.PASSED if outcome is Outcome.OK else Verdict.HELD
    return Ruling(Finding("permanent_expansion", outcome, says, cites), leads_to)


def near_limit(case: Case) -> Ruling | None:
    """A caution only: the reading error never turns a verdict."""
    if case.readable is None or case.limit is None:
        return None
    finding = water_jacket.near_limit(case.readable, case.limit, case.body.reading_increment)
    return Ruling(finding)


def elastic_expansion(case: Case) -> Ruling | None:
    """Above the stamped REE condemns a 3HT; on others it only forbids the plus."""
    if case.readable is None:
        return None
    condemns = bool(case.spec and case.spec.ree_condemns)
    finding = water_jacket.elastic(case.readable, case.body.ree, ree_condemns=condemns)
    if finding.outcome is Outcome.CAUTION and case.material is None:
        says = say(
            "{finding} The permit may condemn it for that: read the permit.", finding=finding.says
        )
        doubt = Finding(finding.code, Outcome.UNKNOWN, says, finding.cites)
        return Ruling(doubt, Verdict.HELD, needs_valid_test=True)
    effect = {Outcome.FAIL: Verdict.CONDEMNED, Outcome.UNKNOWN: Verdict.HELD}
    return Ruling(finding, effect.get(finding.outcome, Verdict.PASSED), needs_valid_test=True)


def plausible(case: Case) -> Ruling | None:
    """Cautions; a total that does not follow from the lab's own readings is held."""
    read = case.readable
    if read is None:
        return None
    findings = [_usual(case, read), *_unlike_before(case, read)]
    if case.body.method == _DIRECT:
        water, capacity = case.body.water, case.body.cylinder.water_capacity
        pressure = case.body.test_pressure
        findings.append(direct_expansion.check(read.total, water, capacity, pressure))
    finding = merged(findings)
    leads_to = Verdict.HELD if finding.outcome is Outcome.FAIL else Verdict.PASSED
    return Ruling(finding, leads_to, needs_valid_test=True)


def _usual(case: Case, read: Expansion) -> Finding:
    likely = _likelihood(case, read)
    if likely is None:
        says = say("Without water capacity and metal the expansion is not compared with theory.")
        return Finding("plausible", Outcome.UNKNOWN, says, Citation("thick-wall theory"))
    return plausibility.plausible(likely)


def _unlike_before(case: Case, read: Expansion) -> list[Finding]:
    """Elastic expansion against the latest earlier test at the same pressure and method."""
    same = [
        test
        for test in case.previous
        if test.method == case.body.method
        and test.test_pressure == case.body.test_pressure
        and test.date < case.body.date
    ]
    latest = max(same, key=lambda test: test.date, default=None)
    return _compared(case, read, latest) if latest else []


def _compared(case: Case, read: Expansion, earlier: PreviousTest) -> list[Finding]:
    if earlier.total is None or earlier.permanent is None:
        return []
    before = earlier.total.base - earlier.permanent.base
    row = figure(Name.ELASTIC_AGREES, on=case.body.date)
    apart = abs(read.elastic_base - before)
    if before <= 0 or apart <= before * share(Name.ELASTIC_AGREES, on=case.body.date):
        return []
    fell = read.elastic_base < before
    why = say("metal does not thicken") if fell else say("the wall may have thinned")
    says = say(
        "Elastic expansion {how} by over {percent} % since {date}: {why}. Compare the "
        "serials and both records.",
        how=say("fell") if fell else say("rose"),
        percent=row.value,
        date=earlier.date,
        why=why,
    )
    return [Finding("plausible", Outcome.CAUTION, says, row.cites)]
