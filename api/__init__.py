"""The project package: everything that speaks HTTP, and the wiring of web and background work."""

from api.celery import app as celery_app

__all__ = ["celery_app"]
