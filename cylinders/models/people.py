"""The people and houses around a cylinder. Personal data lives here and is erasable."""

from django.db import models


class Shop(models.Model):
    """The dive shop that runs this service; one row.

    ``notice_days`` maps a duty to the days before its end on which a reminder goes, where they
    differ from :data:`cylinders.rules.notices.DAYS_BEFORE`. Nothing is sent while
    ``notices_paused`` is set: by the shop, or after a restore, until somebody has looked.
    """

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    website = models.URLField(blank=True)
    country = models.CharField(max_length=2, default="US")
    time_zone = models.CharField(max_length=60, default="UTC")
    notice_days = models.JSONField(default=dict, blank=True)
    notices_paused = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.name


class Customer(models.Model):
    """An owner of cylinders; the history points here by number only.

    ``email_bounced`` and ``text_refused``: the address or number took no message the last time.
    """

    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=8, default="en")
    units = models.CharField(max_length=3, default="psi")
    email_consent = models.BooleanField(default=False)
    email_bounced = models.BooleanField(default=False)
    text_consent = models.BooleanField(default=False)
    text_refused = models.BooleanField(default=False)
    erased_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class Lab(models.Model):
    """A retest lab with its identification number (RIN) and the last day that number is good."""

    name = models.CharField(max_length=120)
    rin = models.CharField(max_length=8)
    rin_valid_until = models.DateField()
    email = models.EmailField(blank=True)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["rin"], name="one_lab_per_rin"),)

    def __str__(self) -> str:
        return f"{self.name} ({self.rin})"
