"""The clauses and habits that the reading of a stamp rests on, each named once."""

from cylinders.rules.specifications import EDITION
from cylinders.rules.verdict import Certainty, Citation


def cfr(section: str) -> Citation:
    """Cite 49 CFR in the edition that was read."""
    return Citation(f"49 CFR {section}", EDITION)


def habit(source: str, certainty: Certainty = Certainty.COMMON_PRACTICE) -> Citation:
    """Cite something that no regulation read here states."""
    return Citation(source, "", certainty)


ORIGINAL_MARKS = cfr("178.35(f)")
AUTHORITY_FIRST = cfr("178.35(f)(1)(i)")
SINGLE_TRIP = cfr("178.65(i)")
UN_MARKS = cfr("178.71(q)")
UN_ALUMINIUM = cfr("178.71(h)")
UN_PRESSURE = cfr("173.302b(b)")
REQUALIFICATION_MARKS = cfr("180.213(d)")
REQUALIFICATION_SYMBOLS = cfr("180.213(f)")
CONDEMNED = cfr("180.205(i)(2)")
PERMIT = cfr("180.205(c)")
LIFE = cfr("180.205(c); 178.71(q)(20), (21)")
LIFE_3HT = cfr("180.205(i)(1)(v)")
REE_3HT = cfr("178.44(r)(2)")
ALLOY_6351 = cfr("180.209(m)")
STAR = cfr("180.209(b)(1)(v)")
EXTERNAL_VISUAL = cfr("180.209(g)")
PLUS = Citation("49 CFR 173.302a(b)", "2003", Certainty.SECOND_HAND)
UNMARKED_PRESSURE = Citation("49 CFR 173.301a(b)", "", Certainty.SECOND_HAND)
METRIC = habit("shop pages on Canadian stamps: M means bar", Certainty.SECOND_HAND)
METRIC_FACTOR = habit("CSA B339", Certainty.FROM_MEMORY)
EARLY_PERMIT = habit("history page on early aluminium permits", Certainty.SECOND_HAND)
DATE_ORDER = habit("US and old German stamps month-year; UN, UK and new German year-month")
GERMANY = habit("diving school page on German stamps", Certainty.SECOND_HAND)
CENTURY = habit("century rule of this reading")
AS_STAMPED = habit("read the stamp itself again")
DUAL = habit("rounding to a whole bar moves a pressure by less than 1 %")
THREADS = habit("look-alike threads do not hold")
