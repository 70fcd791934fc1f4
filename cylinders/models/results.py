"""What was measured and seen: a lab's test record, the shop's inspection, a fill."""

from django.db import models
from django.db.models import Q

from cylinders.models.cylinder import Cylinder
from cylinders.models.lab_report import LabReport
from cylinders.models.people import Lab
from cylinders.models.work_order import WorkOrder


class RecordState(models.TextChoices):
    """Whether a record counts."""

    ATTACHED = "attached", "attached"
    HELD = "held", "held for a person"
    DISMISSED = "dismissed", "dismissed"
    SUPERSEDED = "superseded", "superseded"
    VOIDED = "voided", "voided"


class TestRecord(models.Model):
    """One requalification as a lab reported it (49 CFR 180.215(b)), and how the service judged it.

    ``body`` is the canonical JSON text of what the lab sent, never edited; ``answer`` is the
    judgement in the shape of the ``judge`` command. ``corrects`` is the lab's reference of the
    record that this one corrects; ``supersedes`` points at it once it has come. ``decided`` is set
    where a person let a held record count. ``daily_check`` is the reported check of the day
    that the test leans on; a record that carries its own check names none.
    """

    __test__ = False  # the name begins with "Test"; it is no test

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="records")
    lab_reference = models.CharField(max_length=80)
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="records")
    work_order = models.ForeignKey(
        WorkOrder,
        on_delete=models.PROTECT,
        related_name="records",
        null=True,
        blank=True,
    )
    received_at = models.DateTimeField()
    tested_on = models.DateField()
    body = models.TextField()
    answer = models.JSONField()
    verdict = models.CharField(max_length=12)
    state = models.CharField(max_length=12, choices=RecordState.choices)
    supersedes = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        related_name="superseded_by",
        null=True,
        blank=True,
    )

    corrects = models.CharField(max_length=80, blank=True)
    correction_reason = models.TextField(blank=True)
    decided = models.BooleanField(default=False)
    daily_check = models.ForeignKey(
        LabReport, on_delete=models.PROTECT, related_name="tests", null=True, blank=True
    )

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "lab_reference"],
                name="one_record_per_lab_reference",
            ),
            models.UniqueConstraint(
                fields=["lab", "corrects"],
                condition=~Q(corrects=""),
                name="one_correction_per_record",
            ),
        )

    def __str__(self) -> str:
        return f"{self.lab_reference} of {self.lab.rin}"


class RecordVoid(models.Model):
    """A lab took one of its records back, by its own reference of it; it may not have come yet."""

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="voids")
    lab_reference = models.CharField(max_length=80)
    reason = models.TextField()
    received_at = models.DateTimeField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["lab", "lab_reference"], name="one_void_per_record"),
        )

    def __str__(self) -> str:
        return f"void of {self.lab_reference} of {self.lab.rin}"


class Inspection(models.Model):
    """The shop's own look at a cylinder, by a named standard.

    ``result`` is "waiting" while an eddy current indication waits for a second person's look.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="inspections")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="inspections")
    done_on = models.DateField()
    standard = models.CharField(max_length=40)
    internal = models.CharField(max_length=12)
    external = models.CharField(max_length=12)
    threads = models.CharField(max_length=12)
    result = models.CharField(max_length=12)
    notes = models.TextField(blank=True)
    eddy_current = models.CharField(max_length=12, blank=True)
    eddy_equipment = models.CharField(max_length=200, blank=True)
    eddy_ring = models.CharField(max_length=200, blank=True)
    second_look = models.CharField(max_length=12, blank=True)
    second_notes = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.standard} on {self.done_on}: {self.result}"


class Fill(models.Model):
    """One fill with its analysed gas; fraction and pressure are decimal text as entered."""

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="fills")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="fills")
    filled_at = models.DateTimeField()
    oxygen_fraction = models.CharField(max_length=20)
    pressure = models.CharField(max_length=20)
    pressure_unit = models.CharField(max_length=4)
    mod = models.CharField(max_length=120)

    def __str__(self) -> str:
        return f"{self.oxygen_fraction} at {self.pressure} {self.pressure_unit}"
