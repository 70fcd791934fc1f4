"""The service's own worker with a beat each second and leases of seconds; to be killed."""

import datetime as dt

import django

from api.celery import app

django.setup()

from django.conf import settings  # noqa: E402 - Django must be set up first

from cylinders.operations.reminders import claiming, sending  # noqa: E402 - the same

settings.EMAIL_BACKEND = "tests.faults.sweeper.SlowBackend"
for module in (claiming, sending):
    vars(module)["LEASE"] = dt.timedelta(seconds=2)
claiming.UNSURE_FOR = dt.timedelta(seconds=2)
app.conf.beat_schedule = {"sweep": {"task": "cylinders.tasks.sweep", "schedule": 1.0}}

__all__ = ["app"]
