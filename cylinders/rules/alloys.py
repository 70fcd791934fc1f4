"""Whether a cylinder counts as alloy 6351-T6, which cracks at the neck under lasting load.

49 CFR 180.209(m) (2019-10-01): a DOT 3AL of 6351-T6 in scuba, SCBA or oxygen service is examined by
eddy current and by eye every five years. The metal is not stamped, so an agency advisory (Notice
94-7, second-hand) says what to take for granted until shown otherwise:

    alloy entered by its four figures                 what was entered
    3AL made outside the US                           assume 6351-T6
    3AL made in the US before February 1990           assume 6351-T6
    3AL made in the US from February 1990             other alloy
    3AL made since October 2005, wherever             other alloy: 178.46 permits 6061-T6 only
    origin or date not known                          assume 6351-T6

>>> judge_alloy(CylinderFacts(specification="3AL", alloy="6061-T6")).treat_as_6351
False
>>> judge_alloy(CylinderFacts(specification="3AL", first_test=Month(1988, 5))).assumed
True
>>> judge_alloy(CylinderFacts(specification="3AL", first_test=Month(2008, 6))).treat_as_6351
False
"""

import re
import unicodedata
from dataclasses import dataclass

from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.month import Month
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say

_ADVISORY = Citation("US DOT Notice 94-7, safety advisory", "1994", Certainty.SECOND_HAND)
_ONLY_6061 = Citation("49 CFR 178.46(b)(4)", "2005-10-01")
_RULE = Citation("49 CFR 180.209(m)", "2019-10-01")
#: US makers other than those the advisory names had changed the alloy by this month.
_US_CHANGE = Month(1990, 2)
#: The oldest edition read in which 178.46 permits no other alloy than 6061.
_BY_SPECIFICATION = Month(2005, 10)
_SPECIFICATIONS = ("3AL", "3ALM")
#: An alloy is named by its four figures; "unknown" or "?" names none.
_FIGURES = re.compile(r"(?<!\d)\d{4}(?!\d)", re.ASCII)
_BAD_ALLOY = "6351"


@dataclass(frozen=True, slots=True)
class AlloyVerdict:
    """Whether the rules treat a cylinder as 6351-T6, and whether that is only assumed."""

    treat_as_6351: bool
    assumed: bool
    says: str
    cites: Citation


def judge_alloy(facts: CylinderFacts) -> AlloyVerdict:
    """Decide by the alloy entered, else by the date and place of manufacture."""
    figures = _FIGURES.findall(unicodedata.normalize("NFKC", facts.alloy or ""))
    if figures:
        bad = _BAD_ALLOY in figures
        return AlloyVerdict(
            bad, assumed=False, says=say("Alloy {alloy}.", alloy=facts.alloy), cites=_RULE
        )
    if facts.specification not in _SPECIFICATIONS:
        says = say("Not a 3AL: the 6351-T6 rule does not apply.")
        return AlloyVerdict(treat_as_6351=False, assumed=False, says=says, cites=_RULE)
    return _by_date(facts)


def _by_date(facts: CylinderFacts) -> AlloyVerdict:
    made = facts.first_test
    if made and made >= _BY_SPECIFICATION:
        says = say("Made {made}: a 3AL of that date is 6061-T6.", made=made)
        return AlloyVerdict(treat_as_6351=False, assumed=True, says=says, cites=_ONLY_6061)
    if made and made >= _US_CHANGE and facts.made_outside_us is False:
        says = say("Made in the US in {made}, after its makers had left 6351-T6.", made=made)
        return AlloyVerdict(treat_as_6351=False, assumed=True, says=says, cites=_ADVISORY)
    says = say(
        "{why_assumed} Treat it as alloy 6351-T6 until shown otherwise.",
        why_assumed=_why_assumed(facts),
    )
    return AlloyVerdict(treat_as_6351=True, assumed=True, says=says, cites=_ADVISORY)


def _why_assumed(facts: CylinderFacts) -> str:
    made = facts.first_test
    if made is None:
        return say("Alloy and date of manufacture are not known.")
    if facts.made_outside_us:
        return say("Made outside the US in {made}, alloy not known.", made=made)
    if made < _US_CHANGE:
        return say("Made {made}, before February 1990, alloy not known.", made=made)
    return say("Made {made}; alloy and country of manufacture are not known.", made=made)
