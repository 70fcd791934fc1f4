"""What a held record comes to when a person lets it count.

A person can compare stamp, paper and cylinder, and so clear up a contradiction between them. Nobody
can compare what is not known: a missing examination, an unknown limit, a number that has run out
goes on holding the record until the lab sends another. And what the person decides is never better
than what the numbers, the inspections and the lab's own disposition say: the worst of these counts.
Source: 49 CFR 180.205(h)-(i), 180.215(b), 2019-10-01; the split is a rule of the house.
"""

from cylinders.rules.judgement.body import TestBody
from cylinders.rules.judgement.ruling import ORDER, Judgement, Verdict, standing, worst_verdict
from cylinders.rules.verdict import Finding

#: Contradictions that are cleared up by looking at stamp, paper and cylinder.
COMPARABLE = frozenset({"disposition", "stamp", "cylinder"})


def still_holding(judged: Judgement) -> tuple[Finding, ...]:
    """The findings that go on holding the record, whatever a person compares."""
    return tuple(
        one.finding
        for one in standing(judged.rulings)
        if one.leads_to is Verdict.HELD and one.finding.code not in COMPARABLE
    )


def verdict_by_hand(judged: Judgement, body: TestBody) -> Verdict:
    """The verdict when the comparable contradictions are cleared up."""
    rest = [
        one
        for one in judged.rulings
        if not (one.leads_to is Verdict.HELD and one.finding.code in COMPARABLE)
    ]
    return max(worst_verdict(rest), Verdict(body.disposition), key=ORDER.index)
