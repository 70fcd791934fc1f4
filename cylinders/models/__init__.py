"""The tables. The event table is left out on purpose: its one door is ``cylinders.history``."""

import cylinders.models.among_many
import cylinders.models.history  # noqa: F401 - both register themselves, and export nothing
from cylinders.models.consignment import Consignment, ConsignmentLine
from cylinders.models.cylinder import Cylinder, Gas, Life
from cylinders.models.known_due import DueLook, DueReach, KnownDue
from cylinders.models.lab_report import LabReport, ReportState, ReportVoid
from cylinders.models.notice import Channel, Declined, MessageKind, Notice, NoticeState
from cylinders.models.owner_row import OwnerRow
from cylinders.models.part import Part, PartKind, Whereabouts
from cylinders.models.people import Customer, Lab, Shop
from cylinders.models.privacy import Consent, PersonLog
from cylinders.models.recall import LetterState, RecallLetter
from cylinders.models.results import Fill, Inspection, RecordState, RecordVoid, TestRecord
from cylinders.models.stored_file import Attachment, FileKind, Shows, StoredFile
from cylinders.models.work_order import Service, WorkOrder

__all__ = [
    "Attachment",
    "Channel",
    "Consent",
    "Consignment",
    "ConsignmentLine",
    "Customer",
    "Cylinder",
    "Declined",
    "DueLook",
    "DueReach",
    "FileKind",
    "Fill",
    "Gas",
    "Inspection",
    "KnownDue",
    "Lab",
    "LabReport",
    "LetterState",
    "Life",
    "MessageKind",
    "Notice",
    "NoticeState",
    "OwnerRow",
    "Part",
    "PartKind",
    "PersonLog",
    "RecallLetter",
    "RecordState",
    "RecordVoid",
    "ReportState",
    "ReportVoid",
    "Service",
    "Shop",
    "Shows",
    "StoredFile",
    "TestRecord",
    "Whereabouts",
    "WorkOrder",
]
