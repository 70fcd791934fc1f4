"""In which language and units a member of staff wants to read."""

from django.conf import settings
from django.db import models


class Preference(models.Model):
    """What somebody chose for their own pages; empty leaves it to the browser or the stamp.

    It decides what is shown, never what is stored.
    """

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        related_name="preference",
    )
    language = models.CharField(max_length=8, blank=True)
    pressure_unit = models.CharField(max_length=3, blank=True)
    volume_unit = models.CharField(max_length=3, blank=True)

    def __str__(self) -> str:
        return f"language and units of {self.user}"
