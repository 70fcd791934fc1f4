"""What is kept for a lab's pages, and which warnings of a lab's number went to the shop."""

from django.db import models

from cylinders.models import ConsignmentLine, Lab


class LabDraft(models.Model):
    """What was typed for the cylinder in one chamber, until it is sent: no reload loses it."""

    lab = models.ForeignKey(Lab, on_delete=models.CASCADE, related_name="drafts")
    chamber = models.PositiveSmallIntegerField()
    line = models.ForeignKey(ConsignmentLine, on_delete=models.CASCADE, related_name="+")
    typed = models.JSONField(default=dict)
    saved_at = models.DateTimeField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["lab", "chamber"], name="one_draft_per_chamber"),
        )

    def __str__(self) -> str:
        return f"chamber {self.chamber} of {self.lab.rin}"


class NumberWarning(models.Model):
    """The shop was told once that a lab's number is to end."""

    lab = models.ForeignKey(Lab, on_delete=models.CASCADE, related_name="+")
    valid_until = models.DateField()
    days = models.SmallIntegerField()
    sent_at = models.DateTimeField()

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "valid_until", "days"], name="one_warning_per_number_and_day"
            ),
        )

    def __str__(self) -> str:
        return f"{self.lab.rin}: {self.days} days"
