"""What a lab's records and reports do to the state of a cylinder: a part of :mod:`story`."""

from collections.abc import Callable, Mapping

from cylinders.facts import Kind
from cylinders.state import FactsDict, State


def _leans(state: State, facts: FactsDict) -> None:
    """The digest of the daily check that a record leans on; none where it carries its own."""
    if facts.get("daily_check") is not None:
        state.checks[facts["record"]] = facts["check_sha256"]
    else:
        state.checks.pop(facts["record"], None)


def _record_rejudged(state: State, facts: FactsDict) -> None:
    state.answers[facts["record"]] = facts["answer_sha256"]
    state.verdicts[facts["record"]] = facts["verdict"]
    _leans(state, facts)


def _lab_reported(state: State, facts: FactsDict) -> None:
    told = (facts["came"], facts["body_sha256"], facts["answer_sha256"])
    state.reports[facts["report"]] = ("standing", *told)


def _report_settled(state: State, facts: FactsDict) -> None:
    state.reports[facts["report"]] = (facts["state"], *state.reports[facts["report"]][1:])


def _record_attached(state: State, facts: FactsDict) -> None:
    _leans(state, facts)
    state.bodies[facts["record"]] = facts["body_sha256"]
    state.answers[facts["record"]] = facts["answer_sha256"]
    state.records[facts["record"]] = "attached"
    state.verdicts[facts["record"]] = facts["verdict"]
    if facts["supersedes"] is not None:
        state.records[facts["supersedes"]] = "superseded"
    state.tests[facts["record"]] = (facts["tested_on"], facts["lab_reference"])
    if facts["verdict"] == "passed":
        if not _later_counts(state, facts["record"]):
            state.markings["requalified"] = facts["month"]
            state.markings["requalified_symbol"] = facts["symbol"]
            state.markings["requalified_rin"] = facts["rin"]
        if facts["thread_examined"]:
            state.last_thread_examination = max(state.last_thread_examination, facts["month"])
    ends = facts["verdict"] in ("condemned", "rejected")
    if ends and state.life != "condemned":  # nothing makes a condemned cylinder any better
        state.life = facts["verdict"]


def _later_counts(state: State, record: int) -> bool:
    """Whether a later test that was passed counts already: its mark is the last one then."""
    return any(
        day > state.tests[record]
        for other, day in state.tests.items()
        if state.records[other] == "attached" and state.verdicts[other] == "passed"
    )


def _record_held(state: State, facts: FactsDict) -> None:
    _leans(state, facts)
    state.bodies[facts["record"]] = facts["body_sha256"]
    state.answers[facts["record"]] = facts["answer_sha256"]
    state.records[facts["record"]] = "held"
    state.verdicts[facts["record"]] = facts["verdict"]


def _record_dismissed(state: State, facts: FactsDict) -> None:
    state.records[facts["record"]] = "dismissed"


def _record_settled(state: State, facts: FactsDict) -> None:
    state.records[facts["record"]] = facts["state"]
    for name in ("requalified", "requalified_symbol", "requalified_rin"):
        state.markings[name] = facts[name]
    state.last_thread_examination = facts["last_thread_examination"]


def _stamp_compared(state: State, facts: FactsDict) -> None:
    state.stamps_agree[facts["work_order"]] = facts["agrees"]


LAB_TELLERS: Mapping[Kind, Callable[[State, FactsDict], None]] = {
    Kind.STAMP_COMPARED: _stamp_compared,
    Kind.RECORD_ATTACHED: _record_attached,
    Kind.RECORD_HELD: _record_held,
    Kind.RECORD_DISMISSED: _record_dismissed,
    Kind.RECORD_SETTLED: _record_settled,
    Kind.RECORD_REJUDGED: _record_rejudged,
    Kind.LAB_REPORTED: _lab_reported,
    Kind.REPORT_SETTLED: _report_settled,
}
