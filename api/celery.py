"""The Celery app: wiring only. What has to be done stands in the database, not in the broker."""

import os
import warnings
from typing import Any

from celery import Celery
from celery.signals import setup_logging, worker_ready

from api.collector import settle_down

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

# `serve` says it in one sentence of its own.
warnings.filterwarnings("ignore", message=r"\s*You're running the worker with superuser privileges")

app = Celery("api")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@app.task(name="api.celery.tick")
def tick() -> None:
    """Note that clock, queue and worker all work; /readyz asks how long ago that was."""
    from django.core.cache import cache  # noqa: PLC0415 - the app is made before Django is set up
    from django.utils import timezone  # noqa: PLC0415 - the same

    from api.health import BEAT  # noqa: PLC0415 - the same

    cache.set(BEAT, timezone.now(), timeout=None)


@worker_ready.connect
def tick_at_once(**_: Any) -> None:
    """Be ready when the worker is, not at the first full minute, and catch up at once."""
    tick.delay()
    app.send_task("cylinders.tasks.sweep")


@worker_ready.connect
def leave_what_stands(**_: Any) -> None:
    """Keep the collector from looking through the modules again and again in a long file."""
    settle_down()


@setup_logging.connect
def keep_logging(**_: Any) -> None:
    """Keep the logging that Django has set up: connecting here stops Celery from its own."""
