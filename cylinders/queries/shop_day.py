"""The shop's civil day: what date and hour it is at the shop, and when that day begins and ends."""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings

from cylinders.models import Shop


@dataclass(frozen=True, slots=True)
class ShopDay:
    """``local`` is the moment by the shop's clock; the day runs from ``begins`` to ``ends``."""

    local: dt.datetime
    begins: dt.datetime
    ends: dt.datetime

    @property
    def on(self) -> dt.date:
        """The date at the shop."""
        return self.local.date()


def zone_of(shop: Shop | None) -> ZoneInfo:
    """The shop's time zone; that of the settings where there is no shop or its zone is unknown."""
    name = shop.time_zone if shop else settings.SHOP_TIME_ZONE
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo(settings.SHOP_TIME_ZONE)


def shop_day(at: dt.datetime, *, zone: ZoneInfo) -> ShopDay:
    """The civil day in ``zone`` that ``at`` (with a zone) lies in.

    Its ends are instants: a day is 23, 24 or 25 hours long where clocks change.
    """
    local = at.astimezone(zone)
    begins = dt.datetime.combine(local.date(), dt.time(), tzinfo=zone)
    ends = dt.datetime.combine(local.date() + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    return ShopDay(local, begins.astimezone(dt.UTC), ends.astimezone(dt.UTC))
