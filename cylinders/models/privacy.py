"""What is kept about people's data: who looked, what was handed out or erased, who agreed to what.

These rows name people by number only and outlive the data itself.
"""

from django.db import models

from cylinders.models.notice import Channel
from cylinders.models.people import Customer


class PersonLog(models.Model):
    """One time that somebody dealt with a customer's data; ``where`` is a page or a reason."""

    class Kind(models.TextChoices):
        """What was done."""

        LOOKED = "looked", "looked"
        CHANGED = "changed", "changed"
        EXPORTED = "exported", "handed out"
        ERASED = "erased", "erased"

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="log")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)
    where = models.CharField(max_length=200, blank=True)

    class Meta:
        indexes = (models.Index(fields=["customer", "at"], name="person_log_by_customer"),)

    def __str__(self) -> str:
        return f"{self.by} {self.kind} customer {self.customer_id}"


class Consent(models.Model):
    """A customer agreed, or took it back: when, to which words, told to whom."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="consents")
    channel = models.CharField(max_length=8, choices=Channel.choices, default=Channel.EMAIL)
    given = models.BooleanField()
    wording = models.TextField()
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    def __str__(self) -> str:
        return f"customer {self.customer_id} {'agreed' if self.given else 'took back'}"
