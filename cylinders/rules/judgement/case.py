"""What one record is judged by: the row of its specification, its permit, limit and pressure."""

import datetime as dt
import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from cylinders.rules import water_jacket
from cylinders.rules.cylinder_facts import CylinderFacts, Requalification
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows, PermitRow
from cylinders.rules.intervals import next_requalification
from cylinders.rules.judgement.body import TestBody
from cylinders.rules.judgement.on_file import OnFile
from cylinders.rules.judgement.ruling import KnownCylinder, LabStanding, PreviousTest
from cylinders.rules.month import Month
from cylinders.rules.proof_pressure import required_pressure
from cylinders.rules.quantity import ROUND_CEILING, Quantity, round_fraction
from cylinders.rules.specifications import (
    FOREIGN,
    SPECIAL_PERMIT,
    Material,
    Specification,
    find,
    service_pressure_when_not_marked,
)
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.water_jacket import Expansion, Limit

_PERMIT_NUMBER = re.compile(r"[0-9]{3,6}", re.ASCII)
_BY_THE_LAB = Citation("special permit as the lab gives it", "", Certainty.SECOND_HAND)
#: whose marks name the specifications of the table
_MARKED_BY = frozenset({"DOT", "ICC", "TC", "CTC", "CRC", "BTC"})
_STAR = {"★", "*", "STAR"}


@dataclass(frozen=True, kw_only=True)
class Case:
    """A record and all that is known beside it. Built by :func:`case_of`.

    What several checks ask is found out once, so it has no slots.
    """

    body: TestBody
    on: dt.date
    lab: LabStanding | None = None
    known: KnownCylinder | None = None
    previous: tuple[PreviousTest, ...] = ()
    extra: ExtraRows = NO_EXTRA
    spec: Specification | None = None
    permit: PermitRow | None = None
    required: Quantity | None = None
    limit: Limit | None = None
    read: Expansion | None = None
    facts: CylinderFacts = field(default_factory=CylinderFacts)
    on_file: OnFile | None = None

    @property
    def material(self) -> Material | None:
        """The metal by the specification, ``None`` where only a permit or a standard tells."""
        return self.spec.material if self.spec else None

    @property
    def is_un(self) -> bool:
        """Whether it is a UN pressure receptacle, whose test pressure is stamped."""
        return self.body.cylinder.authority == "UN"

    @cached_property
    def readable(self) -> Expansion | None:
        """The readings where they can be, so that a percentage can be taken of them."""
        return self.read if self.read and water_jacket.possible(self.read).passed else None

    @cached_property
    def next_due(self) -> Month | None:
        """The month the period from this test runs to, ``None`` where none is known to start."""
        following = next_requalification(self.facts, on=self.body.date, extra=self.extra)
        counted = following.since == Month.of(self.body.date)
        return Month.of(following.due) if following.due and counted else None


def permit_number(text: str | None) -> str | None:
    """The number in "DOT-SP 99999" or "E99999"; the text itself where there is none."""
    found = _PERMIT_NUMBER.search(text or "")
    return found[0] if found else text


def symbol_of(body: TestBody) -> str:
    """The symbol after the date, a star in any spelling as ``"star"``; ``S`` for a proof test."""
    stamped = body.stamp.symbol.strip() if body.stamp else ""
    if stamped in _STAR:
        return "star"
    return stamped or ("S" if body.method == "proof_pressure" else "")


def case_of(
    body: TestBody,
    *,
    on: dt.date,
    lab: LabStanding | None,
    known: KnownCylinder | None,
    previous: tuple[PreviousTest, ...],
    extra: ExtraRows,
    on_file: OnFile | None = None,
) -> Case:
    """Look up what the record is judged by; what is not known stays ``None``."""
    permit = extra.permit(permit_number(body.cylinder.permit) or "", on=body.date)
    spec = specification_of(body)
    read = None
    if body.total_expansion is not None and body.permanent_expansion is not None:
        read = Expansion(body.total_expansion, body.permanent_expansion)
    return Case(
        body=body,
        on=on,
        lab=lab,
        known=known,
        previous=previous,
        extra=extra,
        spec=spec,
        permit=permit,
        required=_required(body, spec, permit),
        limit=_limit(body, spec, permit),
        read=read,
        facts=_facts(body, spec, known),
        on_file=on_file,
    )


def authorities(body: TestBody) -> frozenset[str]:
    """The letters before the specification, two for a dual mark ("TC/DOT"); "" where none is."""
    return frozenset(re.split(r"[/ ]+", body.cylinder.authority or ""))


def specification_of(body: TestBody) -> Specification | None:
    """The table's row; a permit without a specification is the row of special permits.

    ``None`` where the authority is none that marks by the table: its letters are half the mark.
    """
    code = body.cylinder.specification
    if not authorities(body) <= _MARKED_BY and code != FOREIGN:
        return None
    if code is None:
        return find(SPECIAL_PERMIT) if body.cylinder.permit else None
    return find(code) or (find(SPECIAL_PERMIT) if _names_permit(body, code) else None)


def _names_permit(body: TestBody, code: str) -> bool:
    """Whether the code is "SP99999" or the like, with the same number given as the permit."""
    return body.cylinder.permit is not None and permit_number(code) == permit_number(
        body.cylinder.permit
    )


def _required(
    body: TestBody, spec: Specification | None, permit: PermitRow | None
) -> Quantity | None:
    """The highest of the pressures that any source asks for."""
    service = body.cylinder.service_pressure
    asked = [body.required_test_pressure]
    if spec:
        asked.append(required_pressure(spec, service or service_pressure_when_not_marked(spec)))
    if permit:
        asked += [permit.test_pressure, _by_factor(permit.test_factor, service)]
    return max((one for one in asked if one is not None), default=None)


def _by_factor(factor: Fraction | None, service: Quantity | None) -> Quantity | None:
    if factor is None or service is None:
        return None
    places = {"psi": 0, "bar": 2, "kPa": 0, "MPa": 3}[service.unit]
    exact = factor * Fraction(service.value)
    return Quantity(round_fraction(exact, places=places, rounding=ROUND_CEILING), service.unit)


def _limit(body: TestBody, spec: Specification | None, permit: PermitRow | None) -> Limit | None:
    """The lowest of the limits that any source sets."""
    limits: list[Limit] = []
    if spec and spec.permanent_limit_percent is not None:
        limits.append(Limit(spec.permanent_limit_percent, spec.limit_cites))
    if permit and permit.limit_percent is not None:
        limits.append(Limit(permit.limit_percent, permit.cites))
    if body.limit_percent is not None:
        limits.append(Limit(body.limit_percent, _BY_THE_LAB))
    return min(limits, key=lambda limit: limit.percent, default=None)


def _facts(
    body: TestBody, spec: Specification | None, known: KnownCylinder | None
) -> CylinderFacts:
    """What the other rules ask about a cylinder, with this test as its latest mark."""
    stamped = body.cylinder
    known = known or KnownCylinder()
    return CylinderFacts(
        authority=stamped.authority,
        specification=spec.code if spec else stamped.specification,
        permit=permit_number(stamped.permit),
        service_pressure=stamped.service_pressure,
        alloy=stamped.alloy or known.alloy,
        made_outside_us=known.made_outside_us,
        first_test=stamped.first_test or known.first_test,
        requalifications=(Requalification(Month.of(body.date), symbol_of(body)),),
        fills=body.fills,
        service=body.use,
    )
