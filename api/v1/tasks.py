"""Background work of the interface."""

from celery import shared_task
from django.utils import timezone

from api.v1 import idempotency


@shared_task(name="api.v1.tasks.forget_old_answers")
def forget_old_answers() -> None:
    """Drop answers to posts that nobody repeats; the reference of a record still protects it."""
    idempotency.forget(before=timezone.now() - idempotency.KEPT)
