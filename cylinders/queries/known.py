"""What is known of a stored cylinder, as the rules want it: plain values, unknown stays None."""

from cylinders.models import Cylinder, Life, Shop
from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Requalification, Service
from cylinders.rules.month import Month


def facts_of(cylinder: Cylinder, *, country: str | None = None) -> CylinderFacts:
    """Return the rules' view of ``cylinder``; ``country`` is the shop's unless given."""
    # A plus may follow the first test date: then the first test is the test it stands on.
    marked = cylinder.requalified or (cylinder.requalified_symbol and cylinder.first_test)
    latest = _month(marked)
    return CylinderFacts(
        authority=cylinder.authority or None,
        specification=cylinder.specification or None,
        permit=cylinder.permit or None,
        service_pressure=cylinder.pressure,
        material=cylinder.material or None,
        alloy=cylinder.alloy or None,
        first_test=_month(cylinder.first_test),
        requalifications=(Requalification(latest, cylinder.requalified_symbol),) if latest else (),
        stamped_due=_month(cylinder.stamped_due),
        last_visual=_month(cylinder.last_visual),
        last_thread_examination=_month(cylinder.last_thread_examination),
        last_oxygen_clean=_month(cylinder.last_oxygen_clean),
        last_valve_service=_month(cylinder.last_valve_service),
        life_end=_month(cylinder.life_end),
        oxygen_clean=cylinder.oxygen_clean,
        underwater_mark=_marked(cylinder, "underwater"),
        not_refillable=_marked(cylinder, "refillable") is False,
        condemned=cylinder.life == Life.CONDEMNED,
        rejected=cylinder.life == Life.REJECTED,
        service=Service.SCUBA,
        gas=Gas(cylinder.use_gas),
        country=country or _shop_country(),
    )


def _marked(cylinder: Cylinder, name: str) -> bool | None:
    """What any mark of the kept reading says of ``name``; a no counts before a yes."""
    told = [mark.get(name) for mark in cylinder.decoded.get("marks", [])]
    known = [one for one in told if isinstance(one, bool)]
    return all(known) if known else None


def _month(text: str) -> Month | None:
    return Month.parse(text) if text else None


def _shop_country() -> str:
    shop = Shop.objects.first()
    return shop.country if shop else "US"
