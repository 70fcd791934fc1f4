"""Background work of the edge. A task only wakes what stands in the database."""

import datetime as dt

from celery import shared_task
from django.utils import timezone

from api import found, found_mail, lab_numbers
from api.backups import since
from api.batches import running
from api.webhooks import outbox, stopped

#: A task ends by itself well before the worker's time limit; the next one goes on.
SECONDS = 25


@shared_task(name="api.tasks.go_on_with_batches")
def go_on_with_batches() -> None:
    """Do what is left of every batch, the oldest first."""
    until = timezone.now() + dt.timedelta(seconds=SECONDS)
    for batch in running.unfinished():
        if not running.go_on(batch_id=batch, now=timezone.now, until=until):
            break


@shared_task(name="api.tasks.make_calls")
def make_calls() -> None:
    """Call labs and the shop's own system; tell the shop whose address has ended."""
    made = outbox.go_round(at=timezone.now())
    for webhook in made.stopped:
        stopped.tell_the_shop(webhook)


@shared_task(name="api.tasks.note_what_must_not_come_back")
def note_what_must_not_come_back() -> None:
    """Write down who was erased and what was revoked, for the day an older copy is restored."""
    since.write()


@shared_task(name="api.tasks.tell_of_finds")
def tell_of_finds() -> None:
    """Write to the shop what finders wrote."""
    found_mail.tell_the_shop(at=timezone.now())


@shared_task(name="api.tasks.forget_old_finds")
def forget_old_finds() -> None:
    """Drop what finders wrote long ago."""
    found.forget(before=timezone.now() - found.KEPT)


@shared_task(name="api.tasks.warn_of_numbers")
def warn_of_numbers() -> None:
    """Tell the shop of labs whose number is to end."""
    now = timezone.now()
    lab_numbers.warn_the_shop(on=timezone.localdate(now), at=now)
