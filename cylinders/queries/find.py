"""Where is it? Cylinders by what is stamped on them, by their owner, by their serial."""

from django.db.models import Q, QuerySet

from cylinders.models import Cylinder

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


def search(words: str) -> QuerySet[Cylinder]:
    """Cylinders whose serial begins with ``words`` or whose owner's name holds them."""
    plain = words.strip()
    if not plain:
        return Cylinder.objects.none()
    hit = Q(serial__istartswith=plain.replace(" ", "")) | Q(owner__name__icontains=plain)
    return Cylinder.objects.filter(hit).select_related("owner").order_by("serial", "pk")[:_MOST]
