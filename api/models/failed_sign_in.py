"""A wrong password at the bench's door: counted, so that guessing is slow."""

from django.db import models


class FailedSignIn(models.Model):
    """One wrong try; ``name`` is a digest of the name that was typed, never the name itself."""

    name = models.CharField(max_length=64)
    address = models.CharField(max_length=45)
    at = models.DateTimeField()

    class Meta:
        indexes = (
            models.Index(fields=["name", "at"], name="wrong_tries_of_a_name"),
            models.Index(fields=["address", "at"], name="wrong_tries_from_an_address"),
        )

    def __str__(self) -> str:
        return f"wrong try from {self.address} at {self.at:%Y-%m-%d %H:%M}"
