"""Whether a removed part belongs on this cylinder, decided when it is scanned for fitting.

Every reason against it is given at once; the first of them is the verdict.

    unknown           nothing is known by this code, or not which cylinder the part came off
    retired           the part or its tag was taken out of use
    already_fitted    it is on a cylinder already, this one or another
    wrong_cylinder    it came off another cylinder
    other_thread      its thread is not the neck's, or either is not known
    not_oxygen_clean  the cylinder is for enriched gas and the part is not known to be clean
    match             none of these

Sources: the thread rule of :mod:`cylinders.rules.threads`; the rest is common practice of a bench
that takes more than one cylinder apart.

>>> own = PartFacts(name="valve V-1", came_off="C-1")
>>> judge_part(own, cylinder=TargetFacts(identity="C-1", name="3AL 1234")).match
<Match.MATCH: 'match'>
>>> judge_part(own, cylinder=TargetFacts(identity="C-2", name="3AL 1235")).match
<Match.WRONG_CYLINDER: 'wrong_cylinder'>
"""

from dataclasses import dataclass
from enum import StrEnum

from cylinders.rules.threads import same_thread
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say, together

_BENCH = Citation("one cylinder's parts go back on that cylinder", "", Certainty.COMMON_PRACTICE)
_CLEAN = Citation("enriched gas only through clean parts", "", Certainty.COMMON_PRACTICE)


class Match(StrEnum):
    """What a scan of a part at a cylinder comes to."""

    MATCH = "match"
    WRONG_CYLINDER = "wrong_cylinder"
    UNKNOWN = "unknown"
    ALREADY_FITTED = "already_fitted"
    RETIRED = "retired"
    OTHER_THREAD = "other_thread"
    NOT_OXYGEN_CLEAN = "not_oxygen_clean"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFacts:
    """A part as known. ``came_off`` and ``fitted_to`` are identities of cylinders.

    ``thread`` is None for a part that has no neck thread (a boot, a handle); a valve whose thread
    was not recorded has ``""`` and is refused.
    """

    name: str
    came_off: str | None
    fitted_to: str | None = None
    retired: bool = False
    thread: str | None = None
    oxygen_clean: bool | None = None
    touches_gas: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetFacts:
    """The cylinder that is being put together; ``name`` is how the bench calls it."""

    identity: str
    name: str
    neck_thread: str = ""
    enriched: bool = False


@dataclass(frozen=True, slots=True)
class PartVerdict:
    """The verdict and every finding behind it, the deciding one first."""

    match: Match
    findings: tuple[Finding, ...]

    @property
    def may_be_fitted(self) -> bool:
        """Whether nothing stands against it."""
        return self.match is Match.MATCH

    @property
    def says(self) -> str:
        """Every sentence, the deciding one first."""
        return together(finding.says for finding in self.findings)


def judge_part(part: PartFacts | None, *, cylinder: TargetFacts) -> PartVerdict:
    """Decide whether ``part`` (None: nothing is known by that code) may go on ``cylinder``."""
    if part is None:
        says = say("STOP: nothing is known by this code. Ask before you fit it.")
        return _verdict([_against(Match.UNKNOWN, says, Outcome.UNKNOWN)])
    reasons = [
        *_standing(part, cylinder),
        *_origin(part, cylinder),
        *_thread(part, cylinder),
        *_cleanliness(part, cylinder),
    ]
    return _verdict(reasons or [_match(part, cylinder)])


def _verdict(findings: list[Finding]) -> PartVerdict:
    return PartVerdict(Match(findings[0].code), tuple(findings))


def _against(
    match: Match, says: str, outcome: Outcome = Outcome.FAIL, cites: Citation = _BENCH
) -> Finding:
    return Finding(match.value, outcome, says, cites)


def _match(part: PartFacts, cylinder: TargetFacts) -> Finding:
    return Finding(
        Match.MATCH.value,
        Outcome.OK,
        say("{part} fits {cylinder}.", part=part.name, cylinder=cylinder.name),
        _BENCH,
    )


def _standing(part: PartFacts, cylinder: TargetFacts) -> list[Finding]:
    reasons = []
    if part.retired:
        says = say("STOP: {part} was taken out of use. Put it aside.", part=part.name)
        reasons.append(_against(Match.RETIRED, says))
    if part.fitted_to is not None:
        says = say("STOP: {part} is already on another cylinder.", part=part.name)
        if part.fitted_to == cylinder.identity:
            says = say("STOP: {part} is already on this cylinder.", part=part.name)
        reasons.append(_against(Match.ALREADY_FITTED, says))
    return reasons


def _origin(part: PartFacts, cylinder: TargetFacts) -> list[Finding]:
    if part.came_off is None:
        says = say("STOP: it is not known which cylinder {part} came off.", part=part.name)
        return [_against(Match.UNKNOWN, says, Outcome.UNKNOWN)]
    if part.came_off != cylinder.identity:
        says = say(
            "STOP: {part} came off another cylinder, not {cylinder}.",
            part=part.name,
            cylinder=cylinder.name,
        )
        return [_against(Match.WRONG_CYLINDER, says)]
    return []


def _thread(part: PartFacts, cylinder: TargetFacts) -> list[Finding]:
    if part.thread is None:
        return []
    finding = same_thread(cylinder.neck_thread, part.thread)
    if finding.outcome is Outcome.OK:
        return []
    return [_against(Match.OTHER_THREAD, finding.says, finding.outcome, finding.cites)]


def _cleanliness(part: PartFacts, cylinder: TargetFacts) -> list[Finding]:
    if not (cylinder.enriched and part.touches_gas) or part.oxygen_clean:
        return []
    known = part.oxygen_clean is not None
    state = say("is not oxygen-clean") if known else say("is not known to be oxygen-clean")
    says = say(
        "STOP: {part} {state}, and {cylinder} is for enriched gas.",
        part=part.name,
        state=state,
        cylinder=cylinder.name,
    )
    outcome = Outcome.FAIL if known else Outcome.UNKNOWN
    return [_against(Match.NOT_OXYGEN_CLEAN, says, outcome, _CLEAN)]
