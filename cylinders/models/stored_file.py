"""Photos, traces and papers: what they are and where their bytes lie; the bytes stay in a storage.

The bytes lie in the storage that ``STORAGES["default"]`` names, under a key that no address of the
service leads to. One content is one file, however often it was sent.
"""

from django.db import models

from cylinders.models.cylinder import Cylinder
from cylinders.models.results import Inspection, TestRecord
from cylinders.models.work_order import WorkOrder


class FileKind(models.TextChoices):
    """What a file is for."""

    PHOTO = "photo", "photo"
    TRACE = "trace", "eddy current trace"
    PAPER = "paper", "paper of a lab"


class Shows(models.TextChoices):
    """What a file shows; chosen from a list, because it stands in the hashed history."""

    WHOLE = "whole", "the whole cylinder"
    STAMP = "stamp", "the stamp"
    DAMAGE = "damage", "damage or wear"
    INSIDE = "inside", "the inside"
    THREADS = "threads", "neck and threads"
    PARTS = "parts", "valve and parts"
    TRACE = "trace", "an eddy current trace"
    CALIBRATION = "calibration", "the check of the day"
    CHART = "chart", "the chart of a test"
    CERTIFICATE = "certificate", "a certificate"
    OTHER = "other", "something else"


class StoredFile(models.Model):
    """One content by its SHA-256, with the type that was found in the bytes themselves.

    ``key`` is its place in the storage; it is empty once the bytes were erased.
    """

    sha256 = models.CharField(max_length=64, unique=True)
    key = models.CharField(max_length=120, blank=True)
    media_type = models.CharField(max_length=40)
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    stored_at = models.DateTimeField()

    class Meta:
        indexes = (models.Index(fields=["key"], name="file_by_key"),)

    def __str__(self) -> str:
        return f"{self.media_type} {self.sha256[:12]}"


class Attachment(models.Model):
    """A file that belongs to a cylinder, and to the visit, record or inspection that it is about.

    ``for_owner`` is set where the shop chose to show it on the owner's page. An erased one keeps
    its row; its bytes are gone.
    """

    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="attachments")
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="attachments")
    work_order = models.ForeignKey(
        WorkOrder, on_delete=models.PROTECT, related_name="attachments", null=True, blank=True
    )
    record = models.ForeignKey(
        TestRecord, on_delete=models.PROTECT, related_name="attachments", null=True, blank=True
    )
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, related_name="attachments", null=True, blank=True
    )
    kind = models.CharField(max_length=8, choices=FileKind.choices)
    shows = models.CharField(max_length=12, choices=Shows.choices)
    for_owner = models.BooleanField(default=False)
    added_at = models.DateTimeField()
    erased_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}: {self.get_shows_display()}"
