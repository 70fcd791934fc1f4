"""Whether the service life of a cylinder has run out, by date or by number of fills.

    3HT         24 years from manufacture, or 4380 fills     49 CFR 180.205(i)(1)(v)
    UN          the FINAL or SERVICE month stamped on it     178.71(q)(19)-(21), 180.207
    permit      as entered from the permit
    composite   one of the two; unknown until it is entered

Nothing is filled after a service life has ended (180.205(c)), however recent its test. A month
lasts through its last day. The count is of fills done: the next one is refused at the limit.

>>> facts = CylinderFacts(specification="3HT", first_test=Month(2002, 10), fills=10)
>>> [finding.code for finding in judge_life(facts, on=dt.date(2026, 11, 25))]
['life_ended']
"""

import datetime as dt

from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.month import Month
from cylinders.rules.periods import COMPOSITE
from cylinders.rules.specifications import Specification, find
from cylinders.rules.specifications.row import cfr
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say

_STAMPED = cfr("178.71(q)(19)-(21)")
_ENDED = cfr("180.205(c)")
_YEAR = 12


def judge_life(
    facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA
) -> tuple[Finding, ...]:
    """Every reason of age or use against a further fill; empty where there is none.

    Codes: ``life_ended``, ``life_unknown``, ``fills_ended``, ``fills_unknown``.
    """
    spec = find(facts.specification or "")
    return (*_by_date(facts, spec, on, extra), *_by_fills(facts, spec))


def life_ends(
    facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA
) -> tuple[Month | None, Citation]:
    """The last month of the service life and its source; None where it is not known or has none."""
    spec = find(facts.specification or "")
    ends: list[tuple[Month, Citation]] = []
    if facts.life_end is not None:
        ends.append((facts.life_end, _STAMPED))
    if spec and spec.life_years and facts.first_test:
        end = facts.first_test.plus_months(spec.life_years * _YEAR)
        ends.append((end, spec.life_cites or _ENDED))
    permit = extra.permit(facts.permit or "", on=on)
    if permit and permit.life_months and facts.first_test:
        ends.append((facts.first_test.plus_months(permit.life_months), permit.cites))
    return min(ends, key=lambda pair: pair[0], default=(None, _ENDED))


def _by_date(
    facts: CylinderFacts, spec: Specification | None, on: dt.date, extra: ExtraRows
) -> list[Finding]:
    end, cites = life_ends(facts, on=on, extra=extra)
    permit = extra.permit(facts.permit or "", on=on)
    limited = bool(
        (spec and spec.life_years)
        or (permit and permit.life_months)
        or facts.material == COMPOSITE,
    )
    if end is None and limited:
        says = say(
            "The end of its service life is not known: enter the date of manufacture or life."
        )
        return [Finding("life_unknown", Outcome.UNKNOWN, says, cites)]
    if end is not None and end.last_day < on:
        says = say("Service life ended on {last_day}. Never fill it again.", last_day=end.last_day)
        return [Finding("life_ended", Outcome.FAIL, says, cites)]
    return []


def _by_fills(facts: CylinderFacts, spec: Specification | None) -> list[Finding]:
    if spec is None or spec.life_fills is None:
        return []
    cites = spec.life_cites or _ENDED
    if facts.fills is None:
        says = say(
            "Number of fills not known; {code} may have {life_fills}.",
            code=spec.code,
            life_fills=spec.life_fills,
        )
        return [Finding("fills_unknown", Outcome.UNKNOWN, says, cites)]
    if facts.fills >= spec.life_fills:
        says = say(
            "{fills} fills done; {code} may have {life_fills}. Never fill again.",
            fills=facts.fills,
            code=spec.code,
            life_fills=spec.life_fills,
        )
        return [Finding("fills_ended", Outcome.FAIL, says, cites)]
    return []
