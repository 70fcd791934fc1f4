"""Checks by inspection: what was seen of the cylinder, and what it has been through.

A finding here stands even where the expansion test is not valid. Whether a failed visual or thread
inspection rejects or condemns is the inspector's to say: the lab's disposition tells.
"""

from cylinders.rules import eddy_current, heat, service_life, visual
from cylinders.rules.alloys import judge_alloy
from cylinders.rules.judgement.case import Case
from cylinders.rules.judgement.ruling import Ruling, Verdict, merged
from cylinders.rules.specifications import Material, PressureRule
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say

_THREADS = Citation("49 CFR 180.205(h) and (i)(1)(i)", "2019-10-01")
_AGES_OUT = "fills_unknown"


def _by_inspector(case: Case) -> Verdict:
    condemned = case.body.disposition == "condemned"
    return Verdict.CONDEMNED if condemned else Verdict.REJECTED


def visual_inspection(case: Case) -> Ruling:
    """Failed rejects, or condemns where the lab says so; not done is for a person."""
    finding = visual.judge(case.body.visual, expected=visual.standard_for(case.spec))
    if finding.outcome is Outcome.FAIL:
        return Ruling(finding, _by_inspector(case))
    return Ruling(finding, Verdict.PASSED if finding.passed else Verdict.HELD)


def threads(case: Case) -> Ruling | None:
    """The lab's inspection of the neck threads, where it reported one."""
    seen = case.body.thread_inspection
    if seen is None:
        return None
    how = f" ({seen.method})" if seen.method else ""
    if seen.result == "pass":
        says = say("Neck threads inspected{how}: passed.", how=how)
        return Ruling(Finding("threads", Outcome.OK, says, _THREADS))
    notes = f" {seen.notes}" if seen.notes else ""
    says = say("Neck threads inspected{how}: failed.{notes}", how=how, notes=notes)
    return Ruling(Finding("threads", Outcome.FAIL, says, _THREADS), _by_inspector(case))


def eddy_current_examination(case: Case) -> Ruling:
    """A crack of two thread lengths condemns; an examination that is missing is held."""
    needed = eddy_current.need(judge_alloy(case.facts), case.body.use)
    finding = eddy_current.judge(case.body.eddy_current, needed, on=case.body.date)
    effect = {Outcome.FAIL: Verdict.CONDEMNED, Outcome.UNKNOWN: Verdict.HELD}
    return Ruling(finding, effect.get(finding.outcome, Verdict.PASSED))


def drying(case: Case) -> Ruling:
    """Too hot a drying is an exposure to heat; a drying not reported stands in no way."""
    dried = case.body.drying
    finding = heat.drying(
        dried.method if dried else None,
        dried.temperature if dried else None,
        case.material,
        on=case.body.date,
    )
    return Ruling(finding, _overheated(finding, case) if dried else Verdict.PASSED)


def heat_exposure(case: Case) -> Ruling:
    """Over-heated aluminium is condemned, over-heated steel rejected, an unknown metal held."""
    finding = heat.exposure(case.body.heat_exposure, case.material, on=case.body.date)
    return Ruling(finding, _overheated(finding, case))


def _overheated(finding: Finding, case: Case) -> Verdict:
    if finding.outcome is Outcome.FAIL:
        aluminium = case.material is Material.ALUMINIUM
        return Verdict.CONDEMNED if aluminium else _by_inspector(case)
    return Verdict.HELD if finding.outcome is Outcome.UNKNOWN else Verdict.PASSED


def life(case: Case) -> Ruling | None:
    """Service life: a 3HT past it is condemned, others are rejected; single-trip is no test."""
    if case.spec and case.spec.test is PressureRule.NEVER:
        says = say(
            "A {code} is single-trip: it is never requalified and never refilled.",
            code=case.spec.code,
        )
        return Ruling(Finding("life", Outcome.FAIL, says, case.spec.cites), Verdict.INVALID)
    found = service_life.judge_life(case.facts, on=case.body.date, extra=case.extra)
    if not found:
        return None
    leads_to = max((_aged(one, case) for one in found), key=list(Verdict).index)
    finding = merged(found)
    return Ruling(Finding("life", finding.outcome, finding.says, finding.cites), leads_to)


def _aged(finding: Finding, case: Case) -> Verdict:
    if finding.outcome is Outcome.FAIL:
        by_rule = bool(case.spec and (case.spec.life_years or case.spec.life_fills))
        return Verdict.CONDEMNED if by_rule else Verdict.REJECTED
    # A lab cannot know the fills; the fill rule asks for them again before each fill.
    return Verdict.PASSED if finding.code == _AGES_OUT else Verdict.HELD
