"""The answer that was given to a post, kept so that the same post gets the same answer."""

from django.db import models

from cylinders.models import Lab


class ReceivedPost(models.Model):
    """One Idempotency-Key of one lab, stored in the transaction of what the post did."""

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=255)
    method = models.CharField(max_length=8)
    path = models.CharField(max_length=200)
    fingerprint = models.CharField(max_length=64)
    received_at = models.DateTimeField()
    status = models.PositiveSmallIntegerField()
    answer = models.TextField()
    content_type = models.CharField(max_length=60)
    location = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "method", "path", "key"],
                name="one_answer_per_key",
            ),
        )

    def __str__(self) -> str:
        return f"{self.method} {self.path} {self.key}"
