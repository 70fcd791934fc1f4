"""A file of test records that a lab sent at once, and the verdict on each of its lines."""

from django.db import models

from cylinders.models import Lab


class ResultBatch(models.Model):
    """One file, kept as it was sent; the same content again is the same batch.

    ``dry_run`` judges every line and stores no record. What is done stands in the lines, so a
    batch whose worker died goes on where it stopped.
    """

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64)
    dry_run = models.BooleanField()
    content = models.TextField()
    total = models.PositiveIntegerField()
    received_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "digest", "dry_run"], name="one_batch_per_content"
            ),
        )
        indexes = (models.Index(fields=["finished_at"], name="batch_to_go_on_with"),)

    def __str__(self) -> str:
        return f"batch {self.pk} of {self.lab.rin}"


class BatchLine(models.Model):
    """What came of one line; ``number`` counts the lines of the file from 1."""

    class Outcome(models.TextChoices):
        STORED = "stored", "stored"
        HELD = "held", "stored, held for a person"
        ALREADY = "already_held", "was there before"
        REFUSED = "refused", "refused"
        JUDGED = "judged", "judged only"

    batch = models.ForeignKey(ResultBatch, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveIntegerField()
    outcome = models.CharField(max_length=16, choices=Outcome.choices)
    lab_reference = models.CharField(max_length=80, blank=True)
    verdict = models.CharField(max_length=12, blank=True)
    code = models.CharField(max_length=40, blank=True)
    says = models.TextField(blank=True)
    errors = models.JSONField(default=list)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["batch", "number"], name="one_verdict_per_line"),
        )

    def __str__(self) -> str:
        return f"line {self.number} of batch {self.batch_id}: {self.outcome}"
