"""What a lab reports beside its test records: daily checks, inspections, drying."""

from django.db import models
from django.db.models import Q

from cylinders.models.cylinder import Cylinder
from cylinders.models.people import Lab
from cylinders.models.work_order import WorkOrder
from cylinders.rules.lab_reports.bodies import Came, ReportKind


class ReportState(models.TextChoices):
    """Whether a report counts."""

    STANDING = "standing", "standing"
    SUPERSEDED = "superseded", "superseded"
    VOIDED = "voided", "voided"


class LabReport(models.Model):
    """One report as a lab sent it, and how it was judged; never edited.

    ``body`` is its canonical JSON text, ``answer`` the checks of the judgement. A daily check is of
    no cylinder. ``corrects`` is the lab's reference of the report that this one corrects.
    """

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="reports")
    kind = models.CharField(max_length=12, choices=[(kind, kind) for kind in ReportKind])
    lab_reference = models.CharField(max_length=80)
    cylinder = models.ForeignKey(
        Cylinder, on_delete=models.PROTECT, related_name="lab_reports", null=True, blank=True
    )
    work_order = models.ForeignKey(
        WorkOrder, on_delete=models.PROTECT, related_name="lab_reports", null=True, blank=True
    )
    day = models.DateField()
    received_at = models.DateTimeField()
    body = models.TextField()
    answer = models.JSONField()
    came = models.CharField(max_length=8, choices=[(came, came) for came in Came])
    state = models.CharField(
        max_length=12, choices=ReportState.choices, default=ReportState.STANDING
    )
    corrects = models.CharField(max_length=80, blank=True)
    correction_reason = models.TextField(blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "kind", "lab_reference"], name="one_report_per_lab_reference"
            ),
            models.UniqueConstraint(
                fields=["lab", "kind", "corrects"],
                condition=~Q(corrects=""),
                name="one_correction_per_report",
            ),
        )
        indexes = (models.Index(fields=["lab", "kind", "day"], name="report_of_day"),)

    def __str__(self) -> str:
        return f"{self.kind} {self.lab_reference} of {self.lab.rin}"


class ReportVoid(models.Model):
    """A lab took one of its reports back; the report may not have come yet."""

    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="report_voids")
    kind = models.CharField(max_length=12, choices=[(kind, kind) for kind in ReportKind])
    lab_reference = models.CharField(max_length=80)
    reason = models.TextField()
    received_at = models.DateTimeField()

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["lab", "kind", "lab_reference"], name="one_void_per_report"
            ),
        )

    def __str__(self) -> str:
        return f"void of {self.kind} {self.lab_reference} of {self.lab.rin}"
