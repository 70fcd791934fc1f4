"""The addresses of the pages with a camera; no other page may use it."""

from django.urls import path

from api.middleware import with_camera
from api.pages.scanner.views import (
    BindByCamera,
    FitByCamera,
    OpenByCamera,
    PackByCamera,
    TagByCamera,
    TakeInByCamera,
)

_PAGES = (
    ("bench/scan", "camera", OpenByCamera),
    ("bench/cylinders/<int:pk>", "bind-camera", BindByCamera),
    ("bench/orders/<int:pk>/teardown", "tag-camera", TagByCamera),
    ("bench/orders/<int:pk>/reassembly", "fit-camera", FitByCamera),
    ("bench/runs/to/<int:pk>", "pack-camera", PackByCamera),
    ("bench/runs/in", "in-camera", TakeInByCamera),
)
urlpatterns = [
    path(f"{page}/camera/", with_camera(view.as_view()), name=name) for page, name, view in _PAGES
]
