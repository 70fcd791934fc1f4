"""Judge a test record from its numbers, whatever verdict came with it.

``loads`` reads JSON strictly, ``parse`` makes a :class:`TestBody` of it or raises
:class:`UnusableBody` with every problem, ``judge`` runs each rule and lets the worst stand,
``as_json`` gives the published answer. 49 CFR 180.205, 180.209 and 180.215, 2019-10-01 edition.
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
