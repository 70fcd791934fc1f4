"""How the labs' interface tells what went wrong; the kinds stand in :mod:`api.problem_table`.

A problem travels as ``application/problem+json`` (RFC 9457): its ``type`` is the address of a page
of this service that says what was wrong and what to do.

>>> PROBLEMS["idempotency_key_missing"].status
400
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings

from api.problem_table import TABLE, ProblemType
from cylinders.rules.refusal import Refused

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a request: a JSON Pointer (RFC 6901) or a name, a code and a sentence."""

    pointer: str
    code: str
    says: str


@dataclass(slots=True)
class Problem(Exception):
    """Raised at the edge where a request cannot be answered; ``code`` is a row of the table."""

    code: str
    says: str
    faults: Sequence[Fault] = ()
    cites: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        """The sentence for a person."""
        return self.says


PROBLEMS: Mapping[str, ProblemType] = {row.code: row for row in TABLE}


#: refusals of a file as a whole
UNREADABLE = frozenset(
    {
        "empty_batch",
        "batch_too_long",
        "no_mapping",
        "malformed_file",
        "wrong_encoding",
        "column_missing",
        "column_twice",
    },
)


def address(code: str) -> str:
    """The stable address of a kind of problem; it opens the page about it."""
    return f"{settings.PUBLIC_URL}/problems/{code}"


def of_refusal(refused: Refused) -> Problem:
    """The problem that tells of an operation's refusal.

    >>> of_refusal(Refused("no_reason", "Write why.")).code
    'refused'
    """
    if refused.code in UNREADABLE:
        fault = Fault("", refused.code, refused.says)
        return Problem("unreadable_file", refused.says, faults=(fault,))
    if refused.code in PROBLEMS:
        return Problem(refused.code, refused.says, cites=refused.cites)
    fault = Fault("", refused.code, refused.says)
    return Problem("refused", refused.says, faults=(fault,), cites=refused.cites)


def document(problem: Problem, *, request_id: str) -> dict[str, Any]:
    """The members of the problem as it travels; ``errors`` only where there are places to name."""
    row = PROBLEMS[problem.code]
    members: dict[str, Any] = {
        "type": address(row.code),
        "title": row.title,
        "status": row.status,
        "detail": problem.says,
        "instance": f"urn:request:{request_id}",
        "code": row.code,
    }
    if problem.cites:
        members["cites"] = problem.cites
    if problem.faults:
        members["errors"] = [
            {"pointer": fault.pointer, "code": fault.code, "detail": fault.says}
            for fault in problem.faults
        ]
    return members


def text(problem: Problem, *, request_id: str) -> str:
    """:func:`document` as JSON text."""
    return json.dumps(document(problem, request_id=request_id), ensure_ascii=False)
