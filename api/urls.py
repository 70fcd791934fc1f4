"""The whole site on one screen."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from api import health
from api.pages.bench.scan import TagAddress

handler500 = "api.failing.server_error"

urlpatterns: list[URLPattern | URLResolver] = [
    # A tag's address first, in both cases that a reader may give it: it is asked for most.
    path("t", TagAddress.as_view()),
    path("t/", TagAddress.as_view(), name="t-typed"),
    path("t/<str:code>", TagAddress.as_view(), name="t"),
    path("T/<str:code>", TagAddress.as_view()),
    path("livez", health.live, name="livez"),
    path("readyz", health.ready, name="readyz"),
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.v1.urls")),
    path("", include("api.pages.status.urls")),
    path("", include("api.pages.scanner.urls")),
    path("", include("api.pages.lab.urls")),
    path("", include("api.pages.urls")),
]
