"""Judge a test record from its numbers, whatever verdict came with it.

``loads`` reads JSON strictly, ``parse`` makes a :class:`TestBody` of it or raises
:class:`UnusableBody` with every problem, ``judge`` runs each rule and lets the worst stand,
``as_json`` gives the published answer. 49 CFR 180.205, 180.209 and 180.215, 2019-10-01 edition.

    condemned   expansion over the limit, a 3HT over its REE or its life, a crack in the neck,
                over-heated aluminium, an inspection that the lab condemned by
    rejected    an inspection that failed, over-heated steel, a permit's service life
    held        record against itself or against the cylinder known here; and everything needed
                that is not known: limit, test pressure, inspection, neck of 6351-T6, metal in heat
    invalid     pressure or hold short, apparatus out, a repeat not raised, a lab's number not in
                force, numbers that cannot be
    passed      nothing of these

The worst stands; but a record that does not fit the cylinder known here is held, whatever it says:
it may be another's. Without a valid test its readings say nothing, so what rests on them
(expansion, REE, a doubtful pressure) does not count; findings by inspection do. A missing
calibration, gauge, drying or look-up of the lab's number is said and holds nothing: the lab keeps
these on file.
"""

from cylinders.rules.judgement.answer import as_json
from cylinders.rules.judgement.body import TestBody
from cylinders.rules.judgement.case import symbol_of
from cylinders.rules.judgement.decide import judge
from cylinders.rules.judgement.parsing import parse
from cylinders.rules.judgement.problem import Problem, UnusableBody
from cylinders.rules.judgement.ruling import (
    Judgement,
    KnownCylinder,
    LabStanding,
    PreviousTest,
    Ruling,
    Verdict,
    worst_verdict,
)
from cylinders.rules.judgement.strict_json import loads

__all__ = [
    "Judgement",
    "KnownCylinder",
    "LabStanding",
    "PreviousTest",
    "Problem",
    "Ruling",
    "TestBody",
    "UnusableBody",
    "Verdict",
    "as_json",
    "judge",
    "loads",
    "parse",
    "symbol_of",
    "worst_verdict",
]
