"""The labs' interface on one screen; mounted at /api/v1/."""

from django.urls import path, re_path, register_converter

from api.v1.amendments import Corrections, Void
from api.v1.batches import Batches, Lines, OneBatch, OneMapping
from api.v1.cylinders import Consignments, Cylinders
from api.v1.events import Events
from api.v1.schema import SchemaDocument
from api.v1.test_records import OneTestRecord, TestRecords
from api.v1.view import Nothing
from api.v1.webhooks import Again, Calls, OneWebhook, Resume, Stop, Webhooks


class Number:
    """A row's number as it stands in an address."""

    regex = "[1-9][0-9]{0,17}"
    to_python = staticmethod(int)
    to_url = staticmethod(str)


class MappingName:
    """The name of a mapping."""

    regex = "[a-z0-9-]{1,40}"
    to_python = staticmethod(str)
    to_url = staticmethod(str)


register_converter(Number, "number")
register_converter(MappingName, "mapping")

urlpatterns = [
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
