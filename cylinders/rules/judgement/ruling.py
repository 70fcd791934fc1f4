"""Verdicts, what a finding leads to, and what else is known beside the lab's record.

    passed < invalid < held < rejected < condemned

>>> worst_verdict([ruling(Verdict.INVALID), ruling(Verdict.CONDEMNED, needs_valid_test=True)])
<Verdict.INVALID: 'invalid'>
>>> worst_verdict([ruling(Verdict.INVALID), ruling(Verdict.CONDEMNED)])
<Verdict.CONDEMNED: 'condemned'>
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Citation, Finding, Outcome, worst
from cylinders.rules.wording import together


class Verdict(StrEnum):
    """What a test record comes to, from good to bad."""

    PASSED = "passed"
    INVALID = "invalid"  # no valid test: says nothing about the cylinder
    HELD = "held"  # something contradicts or is not known: a person decides
    REJECTED = "rejected"
    CONDEMNED = "condemned"


ORDER = tuple(Verdict)


@dataclass(frozen=True, slots=True)
class Ruling:
    """A finding and the verdict it leads to by itself (``PASSED``: it stands in no way).

    ``needs_valid_test``: it rests on the expansion readings, so it says nothing about the cylinder
    where the test is not valid. A finding by inspection stands either way. ``of_another``: the
    record may be another cylinder's, so nothing that it says counts before a person has looked.
    """

    finding: Finding
    leads_to: Verdict = Verdict.PASSED
    needs_valid_test: bool = False
    of_another: bool = False


def ruling(leads_to: Verdict, *, needs_valid_test: bool = False) -> Ruling:
    """A ruling with an empty finding, for trying out how verdicts combine."""
    return Ruling(Finding("", Outcome.OK, "", Citation("")), leads_to, needs_valid_test)


def standing(rulings: Iterable[Ruling]) -> tuple[Ruling, ...]:
    """The rulings that count: without a valid test, those on its readings do not."""
    every = tuple(rulings)
    invalid = any(one.leads_to is Verdict.INVALID for one in every)
    return tuple(one for one in every if not (invalid and one.needs_valid_test))


def worst_verdict(rulings: Iterable[Ruling]) -> Verdict:
    """The worst verdict of the rulings that count; ``PASSED`` only where none stands in the way.

    A record that may be another cylinder's is held, whatever else it says: a wrong cylinder would
    be condemned, and the right one be filled. 49 CFR 180.215(b)(2), 2019-10-01, ties a record to
    its cylinder by serial number, specification and maker; that a person looks is a rule of the
    house.
    """
    every = tuple(rulings)
    if any(one.of_another for one in every):
        return Verdict.HELD
    found = {one.leads_to for one in standing(every)}
    return max(found, key=ORDER.index, default=Verdict.PASSED)


def merged(findings: Iterable[Finding]) -> Finding:
    """One finding for several under the same code: the worst outcome, every sentence that counts.

    Where all are ok the first one speaks for them.
    """
    every = tuple(findings)
    outcome = worst(one.outcome for one in every)
    worst_one = next(one for one in every if one.outcome is outcome)
    others = [one for one in every if one is not worst_one and one.outcome is not Outcome.OK]
    says = together(dict.fromkeys(one.says for one in (worst_one, *others)))
    return Finding(worst_one.code, outcome, says, worst_one.cites)


@dataclass(frozen=True, slots=True)
class LabStanding:
    """What the service knows of the lab: its requalifier number and the days it is in force."""

    rin: str
    valid_until: dt.date | None
    valid_from: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownCylinder:
    """What the service knows of the cylinder, ``None`` where it does not.

    ``specifications`` are the codes on its mark (two for a dual mark), ``permit`` the special
    permit, ``""`` where its mark names none. ``came_on`` is the day it was dropped off at the shop
    that sent it to the lab.
    """

    serial: str | None = None
    specifications: tuple[str, ...] = ()
    service_pressures: tuple[Quantity, ...] = ()
    manufacturer_mark: str | None = None
    alloy: str | None = None
    first_test: Month | None = None
    permit: str | None = None
    made_outside_us: bool | None = None
    condemned: bool = False
    came_on: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PreviousTest:
    """An earlier test of the same cylinder, for repeats, comparison and the trend."""

    lab_reference: str
    date: dt.date
    method: str
    test_pressure: Quantity
    verdict: Verdict
    total: Quantity | None = None
    permanent: Quantity | None = None
    over_limit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What a record comes to, and every check with its reason and clause.

    ``daily_check`` is the number of the reported check of the day that it leans on.
    """

    lab_reference: str
    on: dt.date
    verdict: Verdict
    percent_permanent: Decimal | None
    required_test_pressure: Quantity | None
    elastic_expansion: Quantity | None
    next_due: Month | None
    rulings: tuple[Ruling, ...]
    daily_check: int | None = None

    @property
    def checks(self) -> tuple[Finding, ...]:
        """The findings, one for each code."""
        return tuple(one.finding for one in self.rulings)

    @property
    def reasons(self) -> tuple[str, ...]:
        """The sentences that led to the verdict; empty where it passed."""
        return tuple(
            one.finding.says
            for one in standing(self.rulings)
            if one.leads_to is self.verdict and self.verdict is not Verdict.PASSED
        )
