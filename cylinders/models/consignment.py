"""A run to a lab and back."""

from django.db import models
from django.db.models import Q

from cylinders.models.people import Lab
from cylinders.models.work_order import WorkOrder


class Consignment(models.Model):
    """What left together, who carried it, and when it was all home again."""

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="consignments")
    opened_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    carrier = models.CharField(max_length=120, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab"],
                condition=Q(sent_at__isnull=True),
                name="one_consignment_packed_at_a_time",
            ),
        )

    def __str__(self) -> str:
        return f"consignment {self.pk} to {self.lab.name}"


class ConsignmentLine(models.Model):
    """One cylinder in a consignment."""

    consignment = models.ForeignKey(Consignment, on_delete=models.PROTECT, related_name="lines")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="lines")
    packed_at = models.DateTimeField()
    returned_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["consignment", "work_order"],
                name="one_line_per_cylinder",
            ),
        )

    def __str__(self) -> str:
        return f"{self.work_order.cylinder} in {self.consignment}"
