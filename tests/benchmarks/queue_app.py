"""The service's Celery app with the broker of a benchmark, for its worker and its sender."""

import os

os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"

from api.celery import app, tick

app.conf.update(broker_url=os.environ.get("REDIS_URL", ""))  # without one it only loads

__all__ = ["app", "tick"]
