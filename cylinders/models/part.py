"""What came off a cylinder, and where it is."""

from django.conf import settings
from django.db import models

from cylinders.models.cylinder import Cylinder
from cylinders.models.work_order import WorkOrder


class PartKind(models.TextChoices):
    """The parts a technician takes off."""

    VALVE = "valve", "valve"
    BOOT = "boot", "boot"
    NET = "net", "net"
    HANDLE = "handle", "handle"
    BAND = "band", "band"
    MANIFOLD = "manifold", "manifold"
    PONY_CLAMP = "pony_clamp", "pony clamp"
    STAGE_RIGGING = "stage_rigging", "stage rigging"
    OTHER = "other", "other"


class Whereabouts(models.TextChoices):
    """Where a part is; exactly one at a time."""

    BAGGED = "bagged", "in its bag"
    FITTED = "fitted", "on its cylinder"
    ACCOUNTED = "accounted", "accounted for"


class Part(models.Model):
    """One part of one visit; ``shared_with`` is the other cylinder of a twin set.

    ``settled_by`` and ``settled_at`` tell who fitted it or answered for it, so that the second of
    two people who scan one bag is told by whom it was fitted and when.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="parts")
    shared_with = models.ForeignKey(
        Cylinder,
        on_delete=models.PROTECT,
        related_name="shared_parts",
        null=True,
        blank=True,
    )
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="parts")
    kind = models.CharField(max_length=16, choices=PartKind.choices)
    name = models.CharField(max_length=80, blank=True)
    thread = models.CharField(max_length=40, blank=True)
    outlet = models.CharField(max_length=40, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    oxygen_clean = models.BooleanField(default=False)
    condition = models.TextField(blank=True)
    whereabouts = models.CharField(
        max_length=12,
        choices=Whereabouts.choices,
        default=Whereabouts.BAGGED,
    )
    serviced = models.CharField(max_length=7, blank=True)
    settled_how = models.CharField(max_length=200, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        indexes = (models.Index(fields=["whereabouts", "work_order"], name="part_by_place"),)

    def __str__(self) -> str:
        name = self.name or self.get_kind_display()
        return f"{name} {self.serial}".strip()
