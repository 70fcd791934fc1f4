"""Figures of the trade that no US federal law lays down, each with how well it is known.

None of these is law; a finding that rests on one says so. The oxygen limits are read second-hand
(a paraphrase of a government diving manual and of hazmat practice), the yearly inspection is
common practice, the valve and oxygen-clean periods are from memory.

>>> VISUAL_MONTHS.value, str(VISUAL_MONTHS.cites)
(Decimal('12'), 'trade practice: internal visual inspection every year [common practice]')
>>> OXYGEN_CLEAN_ABOVE.value
Decimal('40')
"""

from dataclasses import dataclass
from decimal import Decimal

from cylinders.rules.verdict import Certainty, Citation


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the trade: what it is, its value in ``unit``, and its source."""

    what: str
    value: Decimal
    unit: str
    cites: Citation

    @property
    def whole(self) -> int:
        """The value as a whole number, for counting days or months."""
        return int(self.value)


def _figure(what: str, value: str, unit: str, source: str, certainty: Certainty) -> Figure:
    return Figure(what, Decimal(value), unit, Citation(source, "", certainty))


VISUAL_MONTHS = _figure(
    "internal visual inspection",
    "12",
    "months",
    "trade practice: internal visual inspection every year",
    Certainty.COMMON_PRACTICE,
)
VALVE_SERVICE_MONTHS = _figure(
    "valve service",
    "12",
    "months",
    "trade practice: valve overhaul every year",
    Certainty.FROM_MEMORY,
)
OXYGEN_CLEAN_MONTHS = _figure(
    "oxygen cleaning",
    "12",
    "months",
    "trade practice: oxygen cleanliness checked every year",
    Certainty.FROM_MEMORY,
)
ENRICHED_ABOVE = _figure(
    "a mix counts as enriched above this share of oxygen",
    "23.5",
    "% O2",
    "trade practice: enriched air is labelled as such above 23.5 % oxygen",
    Certainty.SECOND_HAND,
)
OXYGEN_CLEAN_ABOVE = _figure(
    "common practice asks for oxygen-clean equipment above this share of oxygen",
    "40",
    "% O2",
    "trade practice: equipment is oxygen-clean above 40 % oxygen",
    Certainty.SECOND_HAND,
)
PO2_WORKING = _figure(
    "oxygen partial pressure of a working dive",
    "1.4",
    "bar or ata",
    "trade practice: oxygen partial pressure 1.4",
    Certainty.SECOND_HAND,
)
PO2_LIMIT = _figure(
    "highest oxygen partial pressure",
    "1.6",
    "bar or ata",
    "trade practice: oxygen partial pressure at most 1.6",
    Certainty.SECOND_HAND,
)
FILL_RATE_LOW = _figure(
    "slow end of the usual fill rate",
    "300",
    "psi/min",
    "trade practice: fill at 300 to 600 psi a minute",
    Certainty.SECOND_HAND,
)
FILL_RATE_HIGH = _figure(
    "fast end of the usual fill rate",
    "600",
    "psi/min",
    "trade practice: fill at 300 to 600 psi a minute",
    Certainty.SECOND_HAND,
)
DUE_SOON_DAYS = _figure(
    "a duty counts as due soon this many days ahead",
    "60",
    "days",
    "shop's own: due soon from 60 days ahead",
    Certainty.COMMON_PRACTICE,
)

FIGURES: tuple[Figure, ...] = (
    VISUAL_MONTHS,
    VALVE_SERVICE_MONTHS,
    OXYGEN_CLEAN_MONTHS,
    ENRICHED_ABOVE,
    OXYGEN_CLEAN_ABOVE,
    PO2_WORKING,
    PO2_LIMIT,
    FILL_RATE_LOW,
    FILL_RATE_HIGH,
    DUE_SOON_DAYS,
)
