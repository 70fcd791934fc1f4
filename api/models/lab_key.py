"""A partner lab's key: shown once, kept as a digest."""

from django.db import models

from cylinders.models import Lab


class LabKey(models.Model):
    """``prefix`` finds the key, ``digest`` is the SHA-256 of its 256-bit secret.

    A lab may hold two live keys at once, so that it can change over without a gap. ``scopes`` is a
    list of ``results:write results:read cylinders:read events:read
    webhooks:write``.
    """

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="keys")
    prefix = models.CharField(max_length=8, unique=True)
    digest = models.CharField(max_length=64)
    scopes = models.JSONField(default=list)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"key {self.prefix} of {self.lab.rin}"
