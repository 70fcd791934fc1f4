"""A form of the bench that was acted on, so that sending it twice does the work once."""

from django.conf import settings
from django.db import models


class SentForm(models.Model):
    """What came of one sent form; ``key`` is the digest of the form's number and its content.

    The row is written in the transaction of what the form did: the second tap of a double tap finds
    it and is told the same. ``tone``, ``says`` and ``cites`` are the answer, ``location`` the page
    that shows it. Rows are of use for some minutes and are swept after days.
    """

    key = models.CharField(max_length=64, unique=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    sent_at = models.DateTimeField(db_index=True)
    tone = models.CharField(max_length=8, blank=True)
    word = models.CharField(max_length=40, blank=True)
    says = models.TextField(blank=True)
    cites = models.TextField(blank=True)
    location = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"form sent at {self.sent_at:%Y-%m-%d %H:%M}: {self.word or self.says}"
