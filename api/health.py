"""Two addresses for whoever watches the service: is it alive, and can it do its work."""

from datetime import datetime, timedelta
from typing import Any

from django.core.cache import cache
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import F
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from cylinders.tasks import SWEPT

BEAT = "worker-seen"  # cache key: when the worker last carried out a tick of the clock
LATEST_BEAT = timedelta(minutes=3)  # beats come each minute: three in a row have failed


@require_safe
def live(_request: HttpRequest) -> HttpResponse:
    """Answer as long as the process can answer at all; asks nothing of database or queue."""
    return HttpResponse("alive\n", content_type="text/plain")


@require_safe
def ready(_request: HttpRequest) -> HttpResponse:
    """Answer 200 if the service can do its work, else 503; the body names what is wrong."""
    now = timezone.now()
    checks = {
        "database": database(),
        "migrations": migrations(),
        "worker": worker(now),
        "sweep": sweep(now),
    }
    problems = {name: said for name, said in checks.items() if said}
    body: dict[str, Any] = {"ready": not problems, "problems": problems}
    return JsonResponse(body, status=503 if problems else 200)


def database() -> str:
    """Return what keeps the database from being written to, or nothing."""
    try:
        with transaction.atomic():
            MigrationRecorder.Migration.objects.filter(pk=1).update(applied=F("applied"))
            transaction.set_rollback(True)
    except DatabaseError as problem:
        return f"cannot be written to ({type(problem).__name__})"
    return ""


def migrations() -> str:
    """Return how many migrations wait, or nothing."""
    try:
        executor = MigrationExecutor(connection)
    except DatabaseError as problem:
        return f"cannot be read ({type(problem).__name__})"
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return f"{len(waiting)} wait; run: python3 manage.py migrate" if waiting else ""


def worker(now: datetime) -> str:
    """Return why background work is not being done, or nothing.

    The tick travels through clock, queue and worker, so its age tells of all three: a worker whose
    process is alive but deaf to the queue is found too.
    """
    seen: datetime | None = cache.get(BEAT)
    if seen is None and getattr(cache, "is_away", False):
        return "the cache cannot be asked, so nothing is known of the worker"
    return _age("tick", seen, now)


def sweep(now: datetime) -> str:
    """Return why reminders are not being looked after, or nothing: a sweep may fail by itself."""
    return _age("sweep", cache.get(SWEPT), now)


def _age(what: str, seen: datetime | None, now: datetime) -> str:
    if seen is None:
        return f"no {what} seen; is the worker running?"
    if now - seen > LATEST_BEAT:
        return f"last {what} {int((now - seen).total_seconds())} s ago"
    return ""
