"""What came of a line of a file, as it is noted and told."""

from collections.abc import Sequence

from api.models import BatchLine, ResultBatch
from api.posted_records import Received
from cylinders.models import RecordState
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.refusal import Refused

Came = Received | Refused | UnusableBody
Outcome = BatchLine.Outcome

#: why no cylinder could be named: nothing is guessed, a person at the bench looks
NOT_NAMED = ("cylinder_not_found", "cylinder_ambiguous")
_LONGEST_SAYS = 1_000


def line_of(batch: ResultBatch, number: int, came: Came) -> BatchLine:
    """The verdict on one line, not stored yet."""
    line = BatchLine(batch=batch, number=number)
    note(line, came)
    return line


def note(line: BatchLine, came: Came) -> None:
    """Set on a line what came of it."""
    if isinstance(came, Received):
        _note_record(line, came)
        return
    line.says = str(came)[:_LONGEST_SAYS]
    if isinstance(came, UnusableBody):
        line.outcome, line.code = Outcome.REFUSED, "invalid_body"
        line.errors = [
            {"pointer": one.pointer, "code": one.code, "detail": one.says} for one in came.problems
        ]
        return
    line.outcome = Outcome.WAITING if came.code in NOT_NAMED else Outcome.REFUSED
    line.code = came.code


def _note_record(line: BatchLine, came: Received) -> None:
    record = came.record
    line.outcome = Outcome.STORED if came.new else Outcome.ALREADY
    if came.new and record.state == RecordState.HELD:
        line.outcome = Outcome.HELD
    line.lab_reference, line.verdict, line.code = record.lab_reference, record.verdict, ""
    line.says = " ".join(record.answer["reasons"])[:_LONGEST_SAYS]


def keeps_back(line: BatchLine) -> bool:
    """Whether a batch of all or none stores nothing because of this line."""
    return line.outcome in {Outcome.REFUSED, Outcome.WAITING}


def kept_back(lines: Sequence[BatchLine]) -> list[BatchLine]:
    """The lines of a batch of which nothing is stored: the bad ones keep the others back."""
    bad = [line.number for line in lines if keeps_back(line)]
    for line in lines:
        if not keeps_back(line):
            line.outcome, line.code = Outcome.KEPT_BACK, "kept_back"
            line.says = f"Not stored, because of line {bad[0]}."
        elif line.outcome == Outcome.WAITING:
            line.outcome = Outcome.REFUSED
    return list(lines)
