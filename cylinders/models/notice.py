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


class Channel(models.TextChoices):
    """The way on which a message goes; a customer agrees to each alone."""

    EMAIL = "email", "e-mail"
    TEXT = "text", "text message"


class MessageKind(models.TextChoices):
    """What a customer can decline, each alone."""

    REMINDERS = "reminders", "reminders of what is due"
    VISIT = "visit", "news of a cylinder in the shop"


class Notice(models.Model):
    """One message about one cylinder: a reminder of a duty, or news of a visit.

    A reminder names its ``duty``, the last day in date as ``due`` and how many ``days_before`` it
    goes. News of a visit names what happened as ``duty``, the civil day as ``due``, and the visit
    as ``occasion``. Rows of one customer that go together share a ``message_id``. ``not_before`` is
    when a send that the mail server put off may be tried again.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="notices")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="notices")
    duty = models.CharField(max_length=24)
    due = models.DateField()
    days_before = models.SmallIntegerField()
    channel = models.CharField(max_length=8, choices=Channel.choices, default=Channel.EMAIL)
    occasion = models.CharField(max_length=24, blank=True)
    send_on = models.DateField()
    state = models.CharField(
        max_length=10,
        choices=NoticeState.choices,
        default=NoticeState.PLANNED,
    )
    not_before = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    lease_token = models.CharField(max_length=32, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    message_id = models.CharField(max_length=120, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["cylinder", "duty", "due", "days_before", "channel", "occasion"],
                name="one_notice_per_duty_and_day",
            ),
        )
        indexes = (
            models.Index(fields=["state", "send_on"], name="notice_to_send"),
            models.Index(fields=["customer", "state"], name="notice_of_customer"),
            models.Index(fields=["message_id"], name="notice_by_message"),
            models.Index(fields=["state", "settled_at"], name="notice_settled"),
        )

    def __str__(self) -> str:
        return f"{self.duty} of cylinder {self.cylinder_id} due {self.due}"

    @property
    def about(self) -> str:
        """The duty, or what happened, as words."""
        return self.duty.replace("_", " ").capitalize()


class Declined(models.Model):
    """A customer wants no more messages of one kind; taken back by removing the row."""

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="declined")
    kind = models.CharField(max_length=12, choices=MessageKind.choices)
    at = models.DateTimeField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["customer", "kind"], name="declined_once"),)

    def __str__(self) -> str:
        return f"customer {self.customer_id} declined {self.kind}"
