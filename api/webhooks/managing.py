"""An address is registered, stopped, and given once more what did not get through."""

import datetime as dt
from collections.abc import Collection

from django.db import transaction
from django.db.models import QuerySet

from api import lab_event
from api.models import Webhook, WebhookCall
from api.webhooks import addresses, outbox, signing
from cylinders import history
from cylinders.queries import lab_events
from cylinders.rules.refusal import Refused

#: More would be a mistake, or somebody using the shop to call others.
MOST = 5


@transaction.atomic
def register(
    *, lab_id: int | None, url: str, types: Collection[str], at: dt.datetime
) -> tuple[Webhook, str]:
    """Call ``url`` from now on with events of these ``types`` (none: all); its secret, shown once.

    ``lab_id`` None is the shop's own system. Raises :class:`Refused` for an address that may not
    be called (``webhook_address``), an unknown type, one registered already, and too many.
    """
    addresses.read(url, own_host=outbox.own_host())
    unknown = sorted(set(types) - set(lab_events.TYPES))
    if unknown:
        raise Refused("unknown_type", f"No such event: {unknown[0]!r}. See the schema.")
    mine = _live(lab_id).select_for_update()
    urls = set(mine.values_list("url", flat=True))
    if url in urls:
        raise Refused("webhook_known", "That address is called already.")
    if len(urls) >= MOST:
        raise Refused("too_many_webhooks", f"At most {MOST} addresses. Stop one first.")
    webhook = Webhook.objects.create(
        lab_id=lab_id,
        url=url,
        types=sorted(set(types)),
        salt=signing.new_salt(),
        after=history.last_place(before=lab_event.seen_whole(at=at) or at),
        made_at=at,
    )
    return webhook, signing.shown(signing.secrets_of(webhook.salt)[0])


def stop(webhook: Webhook, *, why: str, at: dt.datetime) -> None:
    """Call an address no more; what is still owed to it stays unsent."""
    live = Webhook.objects.filter(pk=webhook.pk, stopped_at__isnull=True)
    live.update(stopped_at=at, stopped_why=why)


@transaction.atomic
def resume(webhook: Webhook, *, at: dt.datetime) -> None:
    """Call a stopped address again; what is still owed to it goes now.

    Raises :class:`Refused` where the same address was registered anew meanwhile.
    """
    row = Webhook.objects.select_for_update().get(pk=webhook.pk)
    if _live(row.lab_id).filter(url=row.url).exists():
        raise Refused("webhook_known", "That address is called already.")
    row.stopped_at, row.stopped_why, row.failing_since = None, "", None
    row.save(update_fields=["stopped_at", "stopped_why", "failing_since"])
    row.calls.filter(state=outbox.State.WAITING).update(next_at=at, tries=0)


def replay(call: WebhookCall, *, at: dt.datetime) -> None:
    """Make one call again, whatever came of it before, under the same id."""
    again = {"state": outbox.State.WAITING, "next_at": at, "tries": 0, "settled_at": None}
    WebhookCall.objects.filter(pk=call.pk).update(lease="", leased_until=None, **again)


def _live(lab_id: int | None) -> QuerySet[Webhook]:
    rows = Webhook.objects.filter(stopped_at__isnull=True)
    return rows.filter(lab__isnull=True) if lab_id is None else rows.filter(lab_id=lab_id)
