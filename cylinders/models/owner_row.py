"""Figures that the shop's owner has entered: one permit's, or one country's periods."""

from django.conf import settings
from django.db import models


class OwnerRow(models.Model):
    """One row beside the built-in tables, in force from ``since`` on.

    Rows are only ever added: a change is a newer row, so what held at an earlier test stays known,
    and ``entered_by`` and ``entered_at`` tell who changed what. Figures are decimal text, None
    where the text says nothing. ``cites`` is the owner's own citation.
    """

    class Subject(models.TextChoices):
        """What the row is about."""

        PERMIT = "permit", "special permit"
        COUNTRY = "country", "country"

    subject = models.CharField(max_length=8, choices=Subject.choices)
    name = models.CharField(max_length=20)
    since = models.DateField()
    cites = models.CharField(max_length=200)
    requalification_months = models.PositiveSmallIntegerField(null=True, blank=True)
    visual_months = models.PositiveSmallIntegerField(null=True, blank=True)
    test_factor = models.CharField(max_length=12, blank=True)
    limit_percent = models.CharField(max_length=12, blank=True)
    life_months = models.PositiveSmallIntegerField(null=True, blank=True)
    expires = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=200)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
    )

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["subject", "name", "since", "entered_at"],
                name="one_row_at_a_time",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_subject_display()} {self.name} since {self.since}"
