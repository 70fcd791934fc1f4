"""What somebody who found a cylinder, or a part of one, wrote to the shop."""

from django.db import models


class FoundMessage(models.Model):
    """A message about one tag; ``reply_to`` is what the finder gave of themselves, if anything.

    ``mailed_at`` is when the shop was written to about it.
    """

    code = models.CharField(max_length=13)
    text = models.TextField()
    reply_to = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True, blank=True)
    handled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = (models.Index(fields=["handled_at", "at"], name="found_message_open"),)

    def __str__(self) -> str:
        return f"message {self.pk} about tag {self.code}"
