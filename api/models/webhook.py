"""Where a lab or the shop's own system wants to be called, and each call that is owed."""

from django.db import models
from django.db.models import Q

from cylinders.models import Lab


class Webhook(models.Model):
    """One address to call; ``lab`` is None for the shop's own system, which hears of every lab.

    ``salt`` and the service's secret key make the signing secret, which is stored nowhere.
    ``after`` is the place in the history up to which calls were noted; ``failing_since`` is set
    while nothing gets through, and ``stopped_at`` once that took too long.
    """

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, null=True, related_name="+")
    url = models.CharField(max_length=400)
    types = models.JSONField(default=list)
    salt = models.CharField(max_length=43)
    after = models.BigIntegerField()
    made_at = models.DateTimeField()
    failing_since = models.DateTimeField(null=True)
    stopped_at = models.DateTimeField(null=True)
    stopped_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "url"],
                condition=Q(stopped_at__isnull=True),
                name="one_live_webhook_of_a_lab",
            ),
            models.UniqueConstraint(
                fields=["url"],
                condition=Q(stopped_at__isnull=True, lab__isnull=True),
                name="one_live_webhook_of_the_shop",
            ),
        )

    def __str__(self) -> str:
        return f"webhook {self.pk} of {self.lab.rin if self.lab else 'the shop'}"


class WebhookCall(models.Model):
    """One event that is owed to one address; unique, so planning twice owes it once.

    ``body`` is kept as it is sent: each try sends the same bytes under the same id. Two workers do
    not make one call at a time: ``lease`` is the token of whoever holds it ``leased_until`` then.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        DELIVERED = "delivered", "delivered"

    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="calls")
    place = models.BigIntegerField()
    body = models.TextField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    tries = models.PositiveIntegerField(default=0)
    next_at = models.DateTimeField()
    lease = models.CharField(max_length=22, blank=True)
    leased_until = models.DateTimeField(null=True)
    answered = models.CharField(max_length=200, blank=True)
    settled_at = models.DateTimeField(null=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["webhook", "place"], name="one_call_per_event"),
        )
        indexes = (models.Index(fields=["state", "next_at"], name="call_to_make"),)

    def __str__(self) -> str:
        return f"call {self.pk}: {self.state}"
