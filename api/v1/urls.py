"""The labs' interface on one screen; mounted at /api/v1/."""

from django.urls import URLPattern, path, re_path, register_converter

from api.v1.amendments import Corrections, Void
from api.v1.attachments import Attachments, OneAttachment
from api.v1.batches import Batches, Lines, OneBatch, OneMapping
from api.v1.cylinders import Consignments, Cylinders
from api.v1.events import Events
from api.v1.index import Index
from api.v1.logs import DailyLog, DailyLogFile, TestRecordFile
from api.v1.reports import CALIBRATIONS, DRYINGS, INSPECTIONS, Resource, corrections, listing, one
from api.v1.reports import void as void_of
from api.v1.schema import SchemaDocument
from api.v1.test_records import OneTestRecord, TestRecords
from api.v1.view import Nothing
from api.v1.webhooks import Again, Calls, OneWebhook, Resume, Stop, Webhooks


class Number:
    """A row's number as it stands in an address."""

    regex = "[1-9][0-9]{0,17}"
    to_python = staticmethod(int)
    to_url = staticmethod(str)


class LogForm:
    """The form of a log."""

    regex = "csv|pdf"
    to_python = staticmethod(str)
    to_url = staticmethod(str)


class MappingName:
    """The name of a mapping."""

    regex = "[a-z0-9-]{1,40}"
    to_python = staticmethod(str)
    to_url = staticmethod(str)


def _reports(resource: Resource) -> list[URLPattern]:
    """The addresses of one kind of report."""
    below, name = f"{resource.plural}/<str:reference>", f"api-{resource.noun}"
    return [
        path(resource.plural, listing(resource).as_view(), name=f"api-{resource.plural}"),
        path(below, one(resource).as_view(), name=name),
        path(f"{below}/corrections", corrections(resource).as_view(), name=f"{name}-corrections"),
        path(f"{below}/void", void_of(resource).as_view(), name=f"{name}-void"),
    ]


register_converter(Number, "number")
register_converter(MappingName, "mapping")
register_converter(LogForm, "form")

urlpatterns = [
    path("", Index.as_view(), name="api-index"),
    path("schema", SchemaDocument.as_view(), name="schema"),
    path("cylinders", Cylinders.as_view(), name="api-cylinders"),
    path("consignments", Consignments.as_view(), name="api-consignments"),
    path("events", Events.as_view(), name="api-events"),
    path("test-records", TestRecords.as_view(), name="api-test-records"),
    path("test-records/<str:reference>", OneTestRecord.as_view(), name="api-test-record"),
    path(
        "test-records/<str:reference>/corrections",
        Corrections.as_view(),
        name="api-corrections",
    ),
    path("test-records/<str:reference>/void", Void.as_view(), name="api-void"),
    path(
        "test-records/<str:reference>/attachments",
        Attachments.as_view(),
        name="api-attachments",
    ),
    path(
        "test-records/<str:reference>/attachments/<number:number>",
        OneAttachment.as_view(),
        name="api-attachment",
    ),
    path(
        "test-records/<str:reference>/<form:form>", TestRecordFile.as_view(), name="api-test-file"
    ),
    path("daily-logs/<str:day>", DailyLog.as_view(), name="api-daily-log"),
    path("daily-logs/<str:day>/<form:form>", DailyLogFile.as_view(), name="api-daily-log-file"),
    *_reports(CALIBRATIONS),
    *_reports(INSPECTIONS),
    *_reports(DRYINGS),
    path("result-batches", Batches.as_view(), name="api-batches"),
    path("result-batches/<number:number>", OneBatch.as_view(), name="api-batch"),
    path("result-batches/<number:number>/lines", Lines.as_view(), name="api-batch-lines"),
    path("file-mappings/<mapping:name>", OneMapping.as_view(), name="api-mapping"),
    path("webhooks", Webhooks.as_view(), name="api-webhooks"),
    path("webhooks/<number:number>", OneWebhook.as_view(), name="api-webhook"),
    path("webhooks/<number:number>/stop", Stop.as_view(), name="api-webhook-stop"),
    path("webhooks/<number:number>/resume", Resume.as_view(), name="api-webhook-resume"),
    path("webhooks/<number:number>/calls", Calls.as_view(), name="api-webhook-calls"),
    path(
        "webhooks/<number:number>/calls/<number:place>/again",
        Again.as_view(),
        name="api-webhook-again",
    ),
    re_path(r"^[\s\S]*\Z", Nothing.as_view(), name="api-nothing"),
]
