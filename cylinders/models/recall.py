"""Letters to the owners of cylinders whose tests stand on something that was found to be wrong."""

from django.db import models

from cylinders.models.people import Customer


class LetterState(models.TextChoices):
    """What became of a letter."""

    SENDING = "sending", "may have gone"
    SENT = "sent", "sent"
    PRINTED = "printed", "handed over on paper"
    FAILED = "failed", "not taken by the mail server"


class RecallLetter(models.Model):
    """One owner was told of one recall; a person confirmed it.

    ``recall`` is the digest of what was asked (the suspect and the days), so that one recall tells
    one owner once. ``told`` lists the cylinders and the records by their numbers.
    """

    recall = models.CharField(max_length=64)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="recall_letters")
    told = models.JSONField()
    reason = models.TextField()
    state = models.CharField(max_length=8, choices=LetterState.choices)
    confirmed_by = models.CharField(max_length=40)
    confirmed_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["recall", "customer"], name="one_letter_per_recall_and_owner"
            ),
        )

    def __str__(self) -> str:
        return f"recall {self.recall[:8]} to customer {self.customer_id}"
