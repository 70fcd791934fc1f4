"""The last days of the duties of each cylinder, as the rules last gave them: an index, no truth.

Planning reads it in place of asking every rule about every cylinder. Whatever is missing or older
than the history is asked again first, so the tables may be emptied at any time.
"""

from django.db import models

from cylinders.models.cylinder import Cylinder


class KnownDue(models.Model):
    """A duty of a cylinder that has a last day in date."""

    cylinder = models.ForeignKey(Cylinder, on_delete=models.CASCADE, related_name="known_dues")
    duty = models.CharField(max_length=24)
    due = models.DateField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["cylinder", "duty"], name="one_day_per_duty"),
        )
        indexes = (models.Index(fields=["due", "duty"], name="known_due_by_day"),)

    def __str__(self) -> str:
        return f"{self.duty} of cylinder {self.cylinder_id} by {self.due}"


class DueLook(models.Model):
    """When the rules were last asked about a cylinder, and what the answer holds for.

    ``on`` is the day that was asked about, ``events`` how many events the history had, ``edition``
    which rules were asked, ``again_on`` the day from which the same rules may answer otherwise.
    """

    cylinder = models.OneToOneField(
        Cylinder, on_delete=models.CASCADE, primary_key=True, related_name="due_look"
    )
    on = models.DateField()
    events = models.PositiveIntegerField()
    edition = models.CharField(max_length=64)
    again_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"look at cylinder {self.cylinder_id} of {self.on}"
