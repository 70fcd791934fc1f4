"""A file of test records that a lab sent at once, and the verdict on each of its lines."""

from django.conf import settings
from django.db import models

from cylinders.models import Lab


class ResultBatch(models.Model):
    """One file, kept as it was sent; the same content again is the same batch.

    ``content`` is its records, one a line; ``source`` the text of a CSV as it came, with the
    ``mapping`` by which it was read, so that refused lines can be given back to be mended.
    ``dry_run`` stores no record; ``whole`` stores all or none. What is done stands in the lines, so
    a batch whose worker died goes on where it stopped.
    """

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64)
    dry_run = models.BooleanField()
    whole = models.BooleanField(default=False)
    content = models.TextField()
    source = models.TextField(blank=True)
    mapping = models.JSONField(null=True, blank=True)
    total = models.PositiveIntegerField()
    received_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "digest", "dry_run", "whole"], name="one_batch_per_content"
            ),
        )
        indexes = (models.Index(fields=["finished_at"], name="batch_to_go_on_with"),)

    def __str__(self) -> str:
        return f"batch {self.pk} of {self.lab.rin}"


class BatchLine(models.Model):
    """What came of one line; ``number`` counts the lines of the file from 1.

    In a dry run it is what would come of it. ``decided`` is what a person at the bench wrote who
    named the cylinder of a line that waited, or took the line out.
    """

    class Outcome(models.TextChoices):
        STORED = "stored", "stored"
        HELD = "held", "stored, held for a person"
        ALREADY = "already_held", "was there before"
        WAITING = "waiting", "waits for a person to name its cylinder"
        REFUSED = "refused", "refused"
        KEPT_BACK = "kept_back", "kept back by another line"

    batch = models.ForeignKey(ResultBatch, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveIntegerField()
    outcome = models.CharField(max_length=16, choices=Outcome.choices)
    lab_reference = models.CharField(max_length=80, blank=True)
    verdict = models.CharField(max_length=12, blank=True)
    code = models.CharField(max_length=40, blank=True)
    says = models.TextField(blank=True)
    errors = models.JSONField(default=list)
    decided = models.TextField(blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["batch", "number"], name="one_verdict_per_line"),
        )

    def __str__(self) -> str:
        return f"line {self.number} of batch {self.batch_id}: {self.outcome}"
