"""Eddy current examination of the neck: asked of alloy 6351-T6, and what its result means.

49 CFR 180.209(m) and part 180 appendix C, 2019-10-01: aluminium cylinders of alloy 6351-T6 in
scuba, breathing-apparatus or oxygen service are examined every five years at the requalification,
by eddy current together with the visual inspection. Not in carbon dioxide, fire extinguisher or
other industrial gas service.

    any crack of two thread lengths or more    condemned (table of (m), appendix C)
    a crack "expanded into the neck threads"   condemned by the sentence of (m): a person reads it
    alloy not known                            as :mod:`cylinders.rules.alloys` takes it

>>> from cylinders.rules.alloys import judge_alloy
>>> from cylinders.rules.cylinder_facts import CylinderFacts
>>> need(judge_alloy(CylinderFacts(specification="3AL", alloy="6061-T6")), Service.SCUBA)
<Need.NOT_ASKED: 'not asked'>
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from cylinders.rules.alloys import AlloyVerdict
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.retest_figures import Name, figure
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_ASKED = Citation("49 CFR 180.209(m)", "2019-10-01")
_RECORD = Citation("49 CFR part 180 appendix C", "2019-10-01")
_TWO_PEOPLE = Citation(
    "an indication at the neck is looked at by a second person", "", Certainty.COMMON_PRACTICE
)


class Sight(StrEnum):
    """What a person at the bench saw: the first may see an indication, the second says what it is.

    An indication is anything that the instrument shows and a sound neck does not; only a person who
    looks at the neck again can tell a crack from dirt or a worn thread.
    """

    CLEAR = "clear"
    INDICATION = "indication"
    CRACK = "crack"


class Need(StrEnum):
    """Whether the examination is asked for."""

    ASKED = "asked"
    ASSUMED = "assumed"
    NOT_ASKED = "not asked"


@dataclass(frozen=True, slots=True)
class Examination:
    """What the lab reported; ``crack_thread_lengths`` is the longest crack found (0: none)."""

    result: Literal["pass", "fail"]
    crack_thread_lengths: Decimal
    equipment: str
    reference_ring: str


def need(alloy: AlloyVerdict, service: Service) -> Need:
    """Whether a cylinder of this alloy in this service needs the examination."""
    if not (service.breathing and alloy.treat_as_6351):
        return Need.NOT_ASKED
    return Need.ASSUMED if alloy.assumed else Need.ASKED


def judge(exam: Examination | None, needed: Need, *, on: dt.date) -> Finding:
    """What the examination, or its absence, means (code ``eddy_current``).

    ``FAIL`` condemns. ``UNKNOWN``: asked for but missing, or a crack too short for the table.
    ``CAUTION``: examined though nothing asked for it, or the equipment is not recorded.
    """
    if exam is None:
        return _missing(needed)
    row = figure(Name.CRACK, on=on)
    crack = say(
        "a crack of {crack_thread_lengths:f} thread lengths",
        crack_thread_lengths=exam.crack_thread_lengths,
    )
    if exam.crack_thread_lengths >= row.value:
        says = say("The neck has {crack}; {limit} or more condemn.", crack=crack, limit=row.value)
        return Finding("eddy_current", Outcome.FAIL, says, row.cites)
    if exam.result == "fail":
        return Finding(
            "eddy_current", Outcome.FAIL, say("The neck failed the examination."), row.cites
        )
    if exam.crack_thread_lengths > 0:
        says = say(
            "Passed with {crack}: shorter than the table's {limit}, but a crack in the "
            "threads condemns by the text of (m). A person decides.",
            crack=crack,
            limit=row.value,
        )
        return Finding("eddy_current", Outcome.UNKNOWN, says, _ASKED)
    return _passed(exam, needed)


def judge_sights(first: Sight, second: Sight | None = None) -> Finding:
    """What the bench's own examination means (code ``eddy_current_bench``).

    ``UNKNOWN``: an indication that no second person has looked at yet, or whose nature that person
    could not tell; nothing passes on it. ``FAIL``: a crack, which condemns.

    >>> judge_sights(Sight.INDICATION).outcome, judge_sights(Sight.INDICATION, Sight.CLEAR).outcome
    (<Outcome.UNKNOWN: 'unknown'>, <Outcome.CAUTION: 'caution'>)
    """
    code = "eddy_current_bench"
    if Sight.CRACK in (first, second):
        says = say("There is a crack in the neck. It is condemned.")
        return Finding(code, Outcome.FAIL, says, _ASKED)
    if first is Sight.INDICATION and second is not Sight.CLEAR:
        says = say("The eddy current examination shows something. A second person must look at it.")
        return Finding(code, Outcome.UNKNOWN, says, _TWO_PEOPLE)
    if first is Sight.INDICATION:
        says = say("A second person looked at what the examination showed, and found no crack.")
        return Finding(code, Outcome.CAUTION, says, _TWO_PEOPLE)
    return Finding(code, Outcome.OK, say("The eddy current examination shows nothing."), _RECORD)


def _missing(needed: Need) -> Finding:
    if needed is Need.NOT_ASKED:
        return Finding("eddy_current", Outcome.OK, say("Not asked for this cylinder."), _ASKED)
    why = (
        say("It is") if needed is Need.ASKED else say("The alloy is not known, so it is taken for")
    )
    says = say(
        "{why} 6351-T6, which needs an eddy current examination of the neck; none "
        "was reported. Examine it, or enter the alloy.",
        why=why,
    )
    return Finding("eddy_current", Outcome.UNKNOWN, says, _ASKED)


def _passed(exam: Examination, needed: Need) -> Finding:
    if needed is Need.NOT_ASKED:
        says = say("Examined by eddy current though nothing asks for it. Is it the right cylinder?")
        return Finding("eddy_current", Outcome.CAUTION, says, _ASKED)
    if not (exam.equipment and exam.reference_ring):
        says = say("No crack found, but the equipment or the reference ring is not recorded.")
        return Finding("eddy_current", Outcome.CAUTION, says, _RECORD)
    return Finding("eddy_current", Outcome.OK, say("Neck examined: no crack found."), _ASKED)
