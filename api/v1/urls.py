"""The labs' interface on one screen; mounted at /api/v1/."""

from django.urls import path, re_path

from api.v1.amendments import Corrections, Void
from api.v1.cylinders import Consignments, Cylinders
from api.v1.events import Events
from api.v1.schema import SchemaDocument
from api.v1.test_records import OneTestRecord, TestRecords
from api.v1.view import Nothing

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
    re_path(r"^.*$", Nothing.as_view(), name="api-nothing"),
]
