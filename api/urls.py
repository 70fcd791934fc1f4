"""The whole site on one screen."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from api import health

urlpatterns: list[URLPattern | URLResolver] = [
    path("livez", health.live, name="livez"),
    path("readyz", health.ready, name="readyz"),
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.v1.urls")),
    path("", include("api.pages.status.urls")),
    path("", include("api.pages.scanner.urls")),
    path("", include("api.pages.lab.urls")),
    path("", include("api.pages.urls")),
]
