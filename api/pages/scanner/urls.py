"""The addresses of the pages with a camera; no other page may use it."""

from django.urls import path

from api.middleware import with_camera
from api.pages.scanner.views import FitByCamera, OpenByCamera, PackByCamera, TakeInByCamera

urlpatterns = [
    path("bench/scan/camera/", with_camera(OpenByCamera.as_view()), name="camera"),
    path(
        "bench/orders/<int:pk>/reassembly/camera/",
        with_camera(FitByCamera.as_view()),
        name="fit-camera",
    ),
    path("bench/runs/to/<int:pk>/camera/", with_camera(PackByCamera.as_view()), name="pack-camera"),
    path("bench/runs/in/camera/", with_camera(TakeInByCamera.as_view()), name="in-camera"),
]
