"""How the columns of one lab's files are to be read."""

from django.db import models

from cylinders.models import Lab


class FileMapping(models.Model):
    """A named mapping of a lab; ``content`` is what :class:`api.batches.mapping.Mapping` reads."""

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=40)
    content = models.JSONField()
    saved_at = models.DateTimeField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["lab", "name"], name="one_mapping_per_name"),
        )

    def __str__(self) -> str:
        return f"mapping {self.name} of {self.lab.rin}"
