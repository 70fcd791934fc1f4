"""One visit of one cylinder."""

from django.db import models
from django.db.models import Q

from cylinders.models.cylinder import Cylinder
from cylinders.models.people import Customer
from cylinders.rules.stages import Stage


class Service(models.TextChoices):
    """What a customer can ask for."""

    REQUALIFICATION = "requalification", "hydrostatic requalification"
    VISUAL = "visual", "internal visual inspection"
    OXYGEN_CLEANING = "oxygen_cleaning", "oxygen cleaning"
    VALVE_SERVICE = "valve_service", "valve service"
    FILL = "fill", "fill"


class WorkOrder(models.Model):
    """From drop-off to collection; its stage follows from the history.

    ``stamp_agrees`` is None until the new stamp was compared with the lab's record.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="work_orders")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="work_orders")
    stage = models.CharField(
        max_length=12,
        choices=[(stage.value, stage.value.replace("_", " ")) for stage in Stage],
        default=Stage.RECEIVED.value,
    )
    services = models.JSONField(default=list)
    condition = models.TextField(blank=True)
    pressure_on_arrival = models.CharField(max_length=30, blank=True)
    opened_at = models.DateTimeField()
    moved_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    proven_empty = models.BooleanField(default=False)
    stamp_agrees = models.BooleanField(null=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["cylinder"],
                condition=Q(closed_at__isnull=True),
                name="one_open_visit_per_cylinder",
            ),
        )
        indexes = (models.Index(fields=["closed_at", "stage", "moved_at"], name="order_board"),)

    def __str__(self) -> str:
        return f"order {self.pk}: {self.cylinder}"
