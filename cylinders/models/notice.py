"""One reminder: a row under a unique key, a state and a lease. The queue holds no truth."""

from django.db import models

from cylinders.models.cylinder import Cylinder
from cylinders.models.people import Customer


class NoticeState(models.TextChoices):
    """What became of a reminder."""

    PLANNED = "planned", "planned"
    CLAIMED = "claimed", "claimed"
    SENDING = "sending", "sending"
    SENT = "sent", "sent"
    FAILED = "failed", "failed"
    UNSURE = "unsure", "unsure"
    WITHDRAWN = "withdrawn", "withdrawn"


class Notice(models.Model):
    """A reminder of one duty of one cylinder, ``notice`` days before (or after) its due day."""

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="notices")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="notices")
    duty = models.CharField(max_length=24)
    due = models.DateField()
    days_before = models.SmallIntegerField()
    channel = models.CharField(max_length=8, default="email")
    send_on = models.DateField()
    state = models.CharField(
        max_length=10,
        choices=NoticeState.choices,
        default=NoticeState.PLANNED,
    )
    lease_until = models.DateTimeField(null=True, blank=True)
    lease_token = models.CharField(max_length=32, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    message_id = models.CharField(max_length=120, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["cylinder", "duty", "due", "days_before", "channel"],
                name="one_notice_per_duty_and_day",
            ),
        )
        indexes = (models.Index(fields=["state", "send_on"], name="notice_to_send"),)

    def __str__(self) -> str:
        return f"{self.duty} of cylinder {self.cylinder_id} due {self.due}"
