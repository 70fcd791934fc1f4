"""Background work. A task only wakes an operation; what has to be done stands in the database."""

from celery import shared_task
from django.core.cache import cache
from django.utils import timezone

from cylinders.models import Shop
from cylinders.operations import filing, privacy, reminders
from cylinders.queries.shop_day import shop_day, zone_of

#: A sweep ends by itself well before the worker's time limit; the next one goes on.
SWEEP_SECONDS = 25.0
#: Planning reads all that is due within weeks, so a sweep each minute does not plan each minute.
PLAN_EVERY_SECONDS = 15 * 60
#: Seconds after which a woken task is not worth running: the next sweep has woken others.
WOKEN_FOR = 60
#: At most so many further tasks are woken at once, each for about a hundred customers.
MOST_AT_ONCE = 20
#: Cache key: when a sweep last came to its end; /readyz asks how long ago that was.
SWEPT = "cylinders.reminders.swept"
_PLANNED = "cylinders.reminders.planned"


@shared_task(name="cylinders.tasks.sweep")
def sweep() -> None:
    """Plan what is to go, send to a hundred customers, and wake a task for each further hundred.

    A woken task carries nothing: it claims what it sends. One that is lost costs a minute.
    """
    now = timezone.now()
    planning = cache.get(_PLANNED) is None
    reminders.sweep(now=now, planning=planning, for_seconds=SWEEP_SECONDS, claims=1)
    for _ in range(min(reminders.hundreds_waiting(now=timezone.now()), MOST_AT_ONCE)):
        send_some.apply_async(expires=WOKEN_FOR)
    if planning:
        # Noted when it is done: a sweep that dies before leaves the plan to the next one.
        cache.set(_PLANNED, "1", timeout=PLAN_EVERY_SECONDS)
        privacy.forget_old_looks(at=now)
    cache.set(SWEPT, timezone.now(), timeout=None)


@shared_task(name="cylinders.tasks.keep_due_days")
def keep_due_days() -> None:
    """Ask the rules about what has just changed, so that no page has much left to ask."""
    zone = zone_of(Shop.objects.first())
    reminders.look_again(on=shop_day(timezone.now(), zone=zone).on)


@shared_task(name="cylinders.tasks.sweep_files")
def sweep_files() -> None:
    """Delete bytes that belong to nothing, each night."""
    filing.sweep(at=timezone.now())


@shared_task(name="cylinders.tasks.send_some")
def send_some() -> None:
    """Send to a hundred customers who have something waiting."""
    reminders.sweep(now=timezone.now(), planning=False, for_seconds=SWEEP_SECONDS, claims=1)
