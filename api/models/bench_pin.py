"""The short number with which a member of staff opens a phone that they signed in on before."""

from django.conf import settings
from django.db import models


class BenchPin(models.Model):
    """``digest`` is made like a password's; a PIN opens a locked session and never signs in."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        related_name="bench_pin",
    )
    digest = models.CharField(max_length=200)
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"PIN of {self.user}"
