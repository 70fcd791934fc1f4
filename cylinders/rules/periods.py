"""Which requalification periods apply to one cylinder, and which marks count for each.

A *table* is a set of alternatives (Table 1 of 49 CFR 180.209 with its paragraphs for one kind of
service); where more than one table applies (specification and country; shell and filler of an
acetylene cylinder) every one of them must be met.

    paragraph                            open to                           mark that counts
    Table 1, 180.205(g)(1)               every service                     expansion measured
    (b) star, ten years                  industrial, 3A and 3AA            star
    (e) non-corrosive                    exclusive service                 expansion, or S
    (f), (h) listed gases                exclusive service                 expansion
    (g) external visual                  exclusive service                 E
    (j) fire extinguisher                fire                              expansion, or S
    (i) acetylene                        acetylene                         shell S or FS, filler FS
    180.207 UN; country; permit          -                                 any pressure test

>>> facts = CylinderFacts(authority="DOT", specification="3AA", service=Service.INDUSTRIAL)
>>> [[period.months for period in table] for table in tables_for(facts, on=dt.date(2026, 1, 1))]
[[60, 120]]
"""

import datetime as dt
from dataclasses import dataclass

from cylinders.rules.cylinder_facts import CylinderFacts, Service
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.specifications import (
    SPECIAL_PERMIT,
    Interval,
    IntervalRow,
    Specification,
    find,
)
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say

#: Marks of a test in which the expansion was measured, or of what takes its place.
EXPANSION = frozenset({"", "star", "+", "VE", "UE", "AE"})
PROOF = frozenset({"S"})
ANY_TEST = EXPANSION | PROOF | {"F"}

_OPEN_TO: dict[Service, frozenset[Interval]] = {
    Service.INDUSTRIAL: frozenset({Interval.STAR}),
    Service.FIRE: frozenset({Interval.FIRE_EXTINGUISHER}),
    Service.NON_CORROSIVE: frozenset({Interval.NON_CORROSIVE, Interval.EXTERNAL_VISUAL}),
    Service.LISTED_GAS: frozenset({Interval.LISTED_GAS, Interval.EXTERNAL_VISUAL}),
}
_COUNTS: dict[Interval, frozenset[str]] = {
    Interval.STAR: frozenset({"star"}),
    Interval.EXTERNAL_VISUAL: frozenset({"E"}),
    Interval.ACETYLENE_SHELL: frozenset({"S", "FS"}),
    Interval.ACETYLENE_FILLER: frozenset({"FS"}),
}
_NEEDS_A_MARK = frozenset({Interval.STAR, Interval.EXTERNAL_VISUAL})
_YEAR = 12

_UN = Citation("49 CFR 180.207(c)", "2019-10-01")
_UN_METAL_MONTHS, _UN_COMPOSITE_MONTHS = 120, 60
#: Standards of 178.71 by their metal or fibre; the part number does not matter.
_METAL_STANDARDS = ("ISO 9809", "ISO 7866", "ISO 4706", "ISO 18172", "ISO 20703")
_STANDARDS = ("ISO ", "EN ")
COMPOSITE = "composite"


@dataclass(frozen=True, slots=True)
class Period:
    """One period: its length after a mark, after manufacture, and the marks that start it.

    ``special`` periods go before the general one where the same mark would start both;
    ``first_months`` is ``None`` where manufacture alone does not start the period.
    """

    months: int
    first_months: int | None
    symbols: frozenset[str]
    cites: Citation
    special: bool = False


@dataclass(frozen=True, slots=True)
class NoPeriod:
    """Why no period can be given: ``code`` for machines, ``says`` what to enter."""

    code: str
    says: str
    cites: Citation


Table = tuple[Period, ...]


def tables_for(
    facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA
) -> tuple[Table, ...] | NoPeriod:
    """Every table that must be met on that day; empty where no requalification is asked for.

    :class:`NoPeriod` where a period is asked for but its length is not known.
    """
    if facts.single_trip:
        return ()
    country = extra.country(facts.country, on=on)
    if country is None:
        says = say(
            "No rule is entered for country {country!r}: enter its periods.", country=facts.country
        )
        return NoPeriod("country_unknown", says, Citation("owner's rows"))
    own = _own_tables(facts, on, extra)
    months = country.requalification_months
    if months is None:
        return own
    national = (Period(months, months, ANY_TEST, country.cites),)
    if isinstance(own, NoPeriod):
        other_system = own.code == "specification_unknown" and facts.specification
        return (national,) if other_system else own
    return (*own, national)


def _own_tables(
    facts: CylinderFacts, on: dt.date, extra: ExtraRows
) -> tuple[Table, ...] | NoPeriod:
    if facts.permit or facts.specification == SPECIAL_PERMIT:
        return _permit_tables(facts.permit, on, extra)
    standard = facts.specification or ""
    if facts.authority == "UN" and standard.startswith(_STANDARDS):
        return ((_un_period(standard, facts.material),),)
    spec = find(standard)
    if spec is None or facts.authority == "UN":
        says = say("The specification is not known: read it from the stamp.")
        return NoPeriod("specification_unknown", says, Citation("49 CFR 180.209(a)", "2019-10-01"))
    return _us_tables(spec, facts.service, on)


def _us_tables(spec: Specification, service: Service, on: dt.date) -> tuple[Table, ...] | NoPeriod:
    rows = spec.intervals_on(on)
    if service is Service.ACETYLENE:
        both = (Interval.ACETYLENE_SHELL, Interval.ACETYLENE_FILLER)
        return tuple((_period(row),) for row in rows if row.basis in both) or _closed(spec)
    is_open = _OPEN_TO.get(service, frozenset()) | {Interval.GENERAL}
    table = tuple(_period(row) for row in rows if row.basis in is_open)
    if table:
        return (table,)
    return _closed(spec) if rows else ()


def _closed(spec: Specification) -> NoPeriod:
    says = say("{code} has no period for this service.", code=spec.code)
    return NoPeriod("service_unknown", says, spec.test_cites)


def _period(row: IntervalRow) -> Period:
    first = None if row.basis in _NEEDS_A_MARK else (row.first_years or row.years) * _YEAR
    by_method = PROOF if row.method == "proof" else EXPANSION
    return Period(
        months=row.years * _YEAR,
        first_months=first,
        symbols=_COUNTS.get(row.basis, by_method),
        cites=row.cites,
        special=row.basis is not Interval.GENERAL,
    )


def _un_period(standard: str, material: str | None) -> Period:
    """Ten years for metal, five for composite, and five where it is not known which."""
    prescribed = material is None and standard.startswith(_METAL_STANDARDS)
    metal = prescribed or material not in (None, COMPOSITE)
    months = _UN_METAL_MONTHS if metal else _UN_COMPOSITE_MONTHS
    return Period(months, months, ANY_TEST, _UN)


def _permit_tables(
    permit: str | None, on: dt.date, extra: ExtraRows
) -> tuple[Table, ...] | NoPeriod:
    row = extra.permit(permit or "", on=on)
    if row is None or row.interval_months is None:
        says = say(
            "Special permit {permit}: its test interval has not been entered. Read the permit.",
            permit=permit or say("of unknown number"),
        )
        cites = Citation("49 CFR 180.209(a) Table 1, 180.205(c)", "2019-10-01", Certainty.READ)
        return NoPeriod("permit_unknown", says, cites)
    return ((Period(row.interval_months, row.interval_months, ANY_TEST, row.cites),),)
