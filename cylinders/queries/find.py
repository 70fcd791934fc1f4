"""Where is it? Cylinders by what is stamped on them, by their owner, by their serial."""

from django.db.models import Q, QuerySet

from cylinders.models import Customer, Cylinder

_MOST = 50


def likely_duplicates(*, serial: str, manufacturer_mark: str = "") -> QuerySet[Cylinder]:
    """Cylinders that may be this one: same serial, and the same maker's mark where both have one.

    Shown to a person and never merged: serials are unique within one maker at best (common
    practice). Blanks and case do not count. An empty serial has no likely duplicate.
    """
    plain = serial.replace(" ", "")
    if not plain:
        return Cylinder.objects.none()
    same = Cylinder.objects.filter(serial__iexact=plain)
    if manufacturer_mark:
        same = same.filter(Q(manufacturer_mark__iexact=manufacturer_mark) | Q(manufacturer_mark=""))
    return same.select_related("owner").order_by("pk")[:_MOST]


def search(words: str) -> list[Cylinder]:
    """Cylinders whose serial begins with ``words`` or whose owner's name holds them.

    Two questions: one for both could use no index, and would read every cylinder there is.
    """
    plain = words.strip()
    if not plain:
        return []
    known = Cylinder.objects.select_related("owner").order_by("serial", "pk")
    owners = list(
        Customer.objects.filter(name__icontains=plain).order_by("pk").values_list("pk", flat=True)
    )
    by_serial = known.filter(serial__istartswith=plain.replace(" ", ""))
    found = {cylinder.pk: cylinder for cylinder in by_serial[:_MOST]}
    if owners:
        found |= {cylinder.pk: cylinder for cylinder in known.filter(owner__in=owners)[:_MOST]}
    return sorted(found.values(), key=lambda cylinder: (cylinder.serial, cylinder.pk))[:_MOST]
