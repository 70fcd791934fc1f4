"""What stands for the numbers in a history; it is given to whoever may read the names."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from api.wording import part_name
from cylinders.history import Entry
from cylinders.models import Customer, Lab, Part


@dataclass(frozen=True, slots=True)
class Names:
    """What stands for the numbers in a history; a number without a name is shown as a number."""

    staff: Mapping[str, str] = field(default_factory=dict)
    labs: Mapping[int, str] = field(default_factory=dict)
    customers: Mapping[int, str] = field(default_factory=dict)
    parts: Mapping[int, str] = field(default_factory=dict)

    def part(self, number: int | None) -> str:
        """A part as the bench calls it."""
        return self.parts.get(number or 0) or _("part %(number)s") % {"number": number}

    def lab(self, number: int) -> str:
        """A lab by name."""
        return self.labs.get(number, _("lab %(number)s") % {"number": number})

    def customer(self, number: int) -> str:
        """An owner by name."""
        return self.customers.get(number, _("customer %(number)s") % {"number": number})

    def who(self, actor: str) -> str:
        """Who did it."""
        kind, _colon, ref = actor.partition(":")
        if kind == "staff":
            return self.staff.get(ref, _("staff %(number)s") % {"number": ref})
        if kind == "lab":
            return self.lab(int(ref)) if ref.isdigit() else _("the lab")
        return {"customer": _("the owner"), "service": _("the service")}.get(kind, actor)


def names_for(entries: Iterable[Entry]) -> Names:
    """The names of everybody and everything in ``entries``, in four queries."""
    entries = list(entries)
    staff = {e.by.partition(":")[2] for e in entries if e.by.startswith("staff:")}
    labs = {e.facts["lab"] for e in entries if "lab" in e.facts}
    labs |= {int(e.by[4:]) for e in entries if e.by.startswith("lab:") and e.by[4:].isdigit()}
    owners = {
        e.facts[key] for e in entries for key in ("was", "owner", "becomes") if key in e.facts
    }
    parts = {e.facts["part"] for e in entries if e.facts.get("part")}
    numbers = [ref for ref in staff if ref.isdigit()]
    people = [owner for owner in owners if isinstance(owner, int)]
    return Names(
        staff={str(u.pk): u.get_username() for u in User.objects.filter(pk__in=numbers)},
        labs={lab.pk: lab.name for lab in Lab.objects.filter(pk__in=labs)},
        customers={c.pk: c.name for c in Customer.objects.filter(pk__in=people)},
        parts={part.pk: part_name(part) for part in Part.objects.filter(pk__in=parts)},
    )
