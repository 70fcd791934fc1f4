"""The service's own worker with a beat each second and leases of seconds; to be killed."""

import datetime as dt
import os

import django

from api.celery import app
from tests import mail_server

__all__ = ["app"]


def hurry() -> None:
    """Change what takes long, in the process of a worker and nowhere else."""
    django.setup()
    from django.conf import settings  # noqa: PLC0415 - Django is set up above

    from cylinders import tasks  # noqa: PLC0415 - the same
    from cylinders.operations.reminders import claiming, sending, sweeping  # noqa: PLC0415 - the same

    mail_server.use(settings, mail_server.SLOW)
    lease = dt.timedelta(seconds=float(os.environ.get("TEST_LEASE", "2")))
    for module in (claiming, sending):
        vars(module)["LEASE"] = lease
    claiming.UNSURE_FOR = lease
    for module in (claiming, sweeping):
        vars(module)["CUSTOMERS_AT_ONCE"] = 10
    tasks.PLAN_EVERY_SECONDS = 1  # so that every worker is a planner too
    app.conf.beat_schedule = {"sweep": {"task": "cylinders.tasks.sweep", "schedule": 1.0}}


# Whoever looks for doctests imports this too.
if "TEST_POST_PAUSE" in os.environ:
    hurry()
