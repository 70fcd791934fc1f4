"""The last days of the duties of each cylinder, as the rules last gave them: an index, no truth.

Planning and the lists of what is due read it in place of asking every rule about every cylinder.
Whatever is missing or older than the history is asked again first, so the tables may be emptied at
any time, :class:`DueReach` first.
"""

from django.db import models

from cylinders.models.cylinder import Cylinder


class KnownDue(models.Model):
    """A duty of a cylinder in service; ``due`` is None where no rule can tell its last day."""

    cylinder = models.ForeignKey(
        Cylinder,
        on_delete=models.CASCADE,
        related_name="known_dues",
        db_index=False,  # the constraint's index begins with it
    )
    duty = models.CharField(max_length=24)
    due = models.DateField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["cylinder", "duty"], name="one_day_per_duty"),
        )
        indexes = (
            models.Index(fields=["duty", "due"], name="known_due_of_duty"),
            models.Index(fields=["due", "cylinder"], name="known_due_in_order"),
        )

    def __str__(self) -> str:
        return f"{self.duty} of cylinder {self.cylinder_id} by {self.due or 'a day not known'}"


class DueLook(models.Model):
    """When the rules were last asked about a cylinder, and what the answer holds for.

    ``on`` is the day that was asked about, ``events`` how many events the history had, ``edition``
    which rules were asked, ``again_on`` the day from which the same rules may answer otherwise.
    """

    cylinder = models.OneToOneField(
        Cylinder, on_delete=models.CASCADE, primary_key=True, related_name="due_look"
    )
    on = models.DateField()
    events = models.PositiveIntegerField()
    edition = models.CharField(max_length=64)
    again_on = models.DateField(null=True, blank=True)

    class Meta:
        indexes = (models.Index(fields=["again_on"], name="due_look_again"),)

    def __str__(self) -> str:
        return f"look at cylinder {self.cylinder_id} of {self.on}"


class DueReach(models.Model):
    """How far the index is whole: one row, or none where it was never made.

    Every cylinder without an event behind ``place`` has a look of ``edition``, made for a day not
    after ``on``, that is no older than its history. ``place`` is None while the whole index is
    being made. ``turn`` names that making; whoever still works under another one has to stop.
    """

    place = models.BigIntegerField(null=True, blank=True)
    edition = models.CharField(max_length=64)
    on = models.DateField()
    turn = models.CharField(max_length=32)

    def __str__(self) -> str:
        return f"index of due days up to place {self.place} for {self.on}"
