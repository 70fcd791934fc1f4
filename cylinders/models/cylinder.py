"""The asset: a cylinder with its stamp as read, its markings as decoded, and what is last done."""

from django.db import models

from cylinders.models.people import Customer
from cylinders.rules.quantity import Quantity, read_number


class Life(models.TextChoices):
    """Whether the cylinder may serve at all."""

    IN_SERVICE = "in_service", "in service"
    REJECTED = "rejected", "rejected"
    CONDEMNED = "condemned", "condemned"


class Gas(models.TextChoices):
    """What the owner breathes from it."""

    AIR = "air", "air"
    NITROX = "nitrox", "nitrox"
    OXYGEN = "oxygen", "oxygen"


class Cylinder(models.Model):
    """One cylinder.

    The number of the row is never printed; a cylinder is found by its tag, or by what is stamped on
    it. Two cylinders may bear the same serial: nothing here is unique, and nothing is ever merged.
    Months are ``YYYY-MM``; empty text means "not stamped" or "not known". ``service_pressure`` is
    decimal text exactly as stamped. Every column follows from the history.
    """

    stamp_text = models.TextField()
    decoded = models.JSONField(default=dict)
    authority = models.CharField(max_length=12, blank=True)
    specification = models.CharField(max_length=40, blank=True)
    permit = models.CharField(max_length=20, blank=True)
    service_pressure = models.CharField(max_length=20, blank=True)
    pressure_unit = models.CharField(max_length=4, default="psi")
    serial = models.CharField(max_length=60, blank=True)
    manufacturer_mark = models.CharField(max_length=30, blank=True)
    material = models.CharField(max_length=30, blank=True)
    alloy = models.CharField(max_length=20, blank=True)
    neck_thread = models.CharField(max_length=40, blank=True)
    first_test = models.CharField(max_length=7, blank=True)
    requalified = models.CharField(max_length=7, blank=True)
    requalified_symbol = models.CharField(max_length=8, blank=True)
    requalified_rin = models.CharField(max_length=8, blank=True)
    stamped_due = models.CharField(max_length=7, blank=True)
    life_end = models.CharField(max_length=7, blank=True)
    last_visual = models.CharField(max_length=7, blank=True)
    last_thread_examination = models.CharField(max_length=7, blank=True)
    last_oxygen_clean = models.CharField(max_length=7, blank=True)
    last_valve_service = models.CharField(max_length=7, blank=True)
    oxygen_clean = models.BooleanField(null=True)
    use_gas = models.CharField(max_length=8, choices=Gas.choices, default=Gas.AIR)
    life = models.CharField(max_length=12, choices=Life.choices, default=Life.IN_SERVICE)
    owner = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="cylinders")
    events_held = models.PositiveIntegerField(default=0)
    head = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes = (
            models.Index(fields=["serial", "manufacturer_mark"], name="cylinder_by_stamp"),
            models.Index(fields=["life", "requalified"], name="cylinder_by_requalified"),
        )

    def __str__(self) -> str:
        mark = "-".join(part for part in (self.authority, self.specification) if part)
        pressure = f"{self.service_pressure} {self.pressure_unit}" if self.service_pressure else ""
        return " ".join(x for x in (mark or "unmarked", pressure, f"no. {self.serial or '?'}") if x)

    @property
    def pressure(self) -> Quantity | None:
        """The service pressure as stamped, or None where it is not known."""
        if not self.service_pressure:
            return None
        return Quantity(read_number(self.service_pressure), self.pressure_unit)
