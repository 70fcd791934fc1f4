"""The event table: touched by ``cylinders.history`` alone; the database refuses changes to it."""

from django.db import models

from cylinders.models.cylinder import Cylinder


class ServiceEvent(models.Model):
    """One thing that happened to one cylinder.

    ``canonical`` is the exact text that was hashed; the other columns repeat parts of it so that
    the database can find an event, and ``verify`` compares them. The digest before it stands in the
    text alone.
    """

    cylinder = models.ForeignKey(
        Cylinder,
        on_delete=models.PROTECT,
        related_name="+",
        db_index=False,  # the constraint's index begins with it
    )
    sequence = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    happened_at = models.DateTimeField()
    actor = models.CharField(max_length=40)
    canonical = models.TextField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["cylinder", "sequence"], name="one_event_per_place"),
        )

    def __str__(self) -> str:
        return f"{self.cylinder_id}/{self.sequence} {self.kind}"
