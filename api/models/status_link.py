"""A customer's link to the story of a cylinder: 160 random bits, kept as a digest."""

from django.db import models

from cylinders.models import Customer, Cylinder


class StatusLink(models.Model):
    """Whoever holds the token may read; it expires, and each can be revoked alone."""

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="links")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="links")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"link {self.pk} to cylinder {self.cylinder_id}"
