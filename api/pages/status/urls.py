"""The addresses of customers and strangers; the tag's own address is the bench's to answer."""

from django.urls import path

from api.pages.status.calendar import calendar
from api.pages.status.certificate import certificate, key_set, verify, verify_worker
from api.pages.status.decline import decline
from api.pages.status.found import finder
from api.pages.status.messages import Messages, Preview
from api.pages.status.page import status
from api.pages.status.person import Export, Person
from api.pages.status.photos import photo
from api.pages.status.robots import robots

urlpatterns = [
    path("s/<str:token>", status, name="status"),
    path("s/<str:token>/photos/<int:number>.jpg", photo, name="status-photo"),
    path("s/<str:token>/cylinders/<int:number>", status, name="status-of"),
    path("s/<str:token>/calendar.ics", calendar, name="status-calendar"),
    path("s/<str:token>/certificates/<int:number>", certificate, name="certificate"),
    path(
        "s/<str:token>/certificates/<int:number>.pdf",
        certificate,
        {"as_paper": True},
        name="certificate-paper",
    ),
    path("verify", verify, name="verify"),
    path("VERIFY", verify),
    path("verify-worker.js", verify_worker, name="verify-worker"),
    path(".well-known/jwks.json", key_set, name="keys"),
    path("u/<str:signature>/<str:value>", decline, name="decline"),
    path("bench/messages/", Messages.as_view(), name="messages"),
    path("bench/messages/<int:pk>/", Preview.as_view(), name="message-preview"),
    path("bench/customers/<int:pk>/", Person.as_view(), name="person"),
    path("bench/customers/<int:pk>/everything.json", Export.as_view(), name="person-export"),
    path("found/<str:code>", finder, name="found"),
    path("robots.txt", robots, name="robots"),
]
