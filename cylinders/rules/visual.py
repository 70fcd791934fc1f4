"""Visual inspection: every pressure test needs one, inside and outside.

49 CFR 180.205(f), 2019-10-01: an internal and an external visual inspection go with each pressure
test, by the pamphlet for the metal. 180.205(h) and (i)(1): what the pamphlet finds rejects or
condemns; which of the two is for the inspector to say.

    CGA C-6 steel and nickel    C-6.1 seamless aluminium    C-6.2 composite
    C-6.3 low-pressure aluminium    C-8 specification 3HT

>>> judge(Inspection("pass", "not_done", "CGA C-6.1"), expected="CGA C-6.1").outcome
<Outcome.UNKNOWN: 'unknown'>
"""

from dataclasses import dataclass
from typing import Literal

from cylinders.rules.specifications import Material, Specification
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say, together

Result = Literal["pass", "fail", "not_done"]

_BOTH = Citation("49 CFR 180.205(f)", "2019-10-01")
_FAILED = Citation("49 CFR 180.205(h) and (i)(1)(i)", "2019-10-01")
#: a specification with a pamphlet of its own
_OWN = {"3HT": "CGA C-8", "4E": "CGA C-6.3", "8": "CGA C-13", "8AL": "CGA C-13"}
_BY_METAL = {
    Material.STEEL: "CGA C-6",
    Material.NICKEL: "CGA C-6",
    Material.ALUMINIUM: "CGA C-6.1",
}


@dataclass(frozen=True, slots=True)
class Inspection:
    """What the inspector reported; ``standard`` as written ("CGA C-6.1")."""

    internal: Result
    external: Result
    standard: str
    notes: str = ""


def standard_for(spec: Specification | None) -> str | None:
    """The pamphlet that 180.205(f) names for a specification, ``None`` where none is known."""
    if spec is None:
        return None
    code = spec.us_equivalent or spec.code
    return _OWN.get(code) or (_BY_METAL.get(spec.material) if spec.material else None)


def judge(seen: Inspection, *, expected: str | None) -> Finding:
    """The result of both inspections (code ``visual``).

    ``FAIL`` where one failed, ``UNKNOWN`` where one was not done, ``CAUTION`` where the standard
    named is not the one for this metal.
    """
    parts = {"internal": seen.internal, "external": seen.external}
    failed = [name for name, result in parts.items() if result == "fail"]
    if failed:
        notes = f" {seen.notes}" if seen.notes else ""
        says = say(
            "The {failed} visual inspection failed.{notes}",
            failed=together(failed, by=say(" and ")),
            notes=notes,
        )
        return Finding("visual", Outcome.FAIL, says, _FAILED)
    missing = [name for name, result in parts.items() if result == "not_done"]
    if missing:
        says = say(
            "The {missing} visual inspection was not done; both go with every pressure "
            "test. Inspect, then decide.",
            missing=together(missing, by=say(" and ")),
        )
        return Finding("visual", Outcome.UNKNOWN, says, _BOTH)
    return _by_standard(seen, expected)


def _by_standard(seen: Inspection, expected: str | None) -> Finding:
    """Both passed: by the pamphlet for this metal, or by another."""
    if expected and key(seen.standard) != key(expected):
        says = say(
            "Passed by {standard}, but {expected} is the standard for this cylinder. "
            "Ask which was followed.",
            standard=seen.standard or say("no named standard"),
            expected=expected,
        )
        return Finding("visual", Outcome.CAUTION, says, _BOTH)
    says = say(
        "Inspected inside and outside by {standard}: passed.",
        standard=seen.standard or say("a standard not named"),
    )
    return Finding("visual", Outcome.OK, says, _BOTH)


def key(standard: str) -> str:
    """One key for "CGA C-6.1" and "c-6.1"."""
    return standard.upper().replace("CGA", "").replace(" ", "").replace("-", "")
