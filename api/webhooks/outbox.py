"""Calls that are owed stand in rows: noted from the history, made by whoever sweeps.

Noting twice owes nothing twice, since an event is owed to an address once; a worker that dies with
a call leaves its lease to run out, and the call is made again under the same id. So a call comes
at least once; its receiver folds those of one id.
"""

import datetime as dt
import json
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from api import arming, at_the_lab, lab_event
from api.models import Webhook, WebhookCall
from api.webhooks import addresses, calling, signing
from api.webhooks.calling import Answer, Way
from cylinders.queries import lab_events
from cylinders.rules.refusal import Refused

#: The pause after each try that failed; the last one again and again.
PAUSES = tuple(
    dt.timedelta(seconds=seconds) for seconds in (5, 60, 300, 1_800, 7_200, 21_600, 43_200, 86_400)
)
#: An address where nothing got through for so long is called no more.
PATIENCE = dt.timedelta(days=5)
_LEASE = dt.timedelta(minutes=2)
_AT_ONCE = 200
_TOKEN_BYTES = 16
_LONGEST_WHY = 200
State = WebhookCall.State


@dataclass(slots=True)
class Made:
    """What one round did; ``stopped`` are the addresses that are called no more since then."""

    noted: int = 0
    delivered: int = 0
    failed: int = 0
    stopped: list[Webhook] = field(default_factory=list)


def go_round(*, at: dt.datetime, way: Way | None = None) -> Made:
    """Note what is owed and make the calls whose time has come; may run in several places."""
    made = Made()
    if not arming.is_armed():
        return made
    for webhook in live():
        made.noted += note(webhook, at=at)
    way = way or Way()
    for call in claims(at=at):
        answer = _call(call, at=at, way=way)
        if settle(call, answer, at=at):
            made.stopped.append(call.webhook)
        made.delivered += answer.taken
        made.failed += not answer.taken
    return made


def live() -> list[Webhook]:
    """The addresses that are called."""
    return list(Webhook.objects.filter(stopped_at__isnull=True).order_by("pk"))


@transaction.atomic
def note(webhook: Webhook, *, at: dt.datetime) -> int:
    """Owe every event that came since the last time; returns how many are new."""
    row = Webhook.objects.select_for_update().get(pk=webhook.pk)
    page = lab_events.page(
        lab_id=row.lab_id,
        after=row.after,
        limit=_AT_ONCE,
        before=lab_event.seen_whole(at=at),
    )
    wanted = [event for event in page.events if not row.types or event.type in row.types]
    tags = at_the_lab.tags_of({event.cylinder_id for event in wanted})
    calls = [
        WebhookCall(webhook=row, place=event.place, body=_body(event, tags, row), next_at=at)
        for event in wanted
    ]
    WebhookCall.objects.bulk_create(calls, ignore_conflicts=True)
    row.after = page.after
    row.save(update_fields=["after"])
    return len(calls)


def claims(*, at: dt.datetime) -> Iterator[WebhookCall]:
    """Take one call after the other whose time has come; nobody else gets it meanwhile."""
    free = Q(leased_until__isnull=True) | Q(leased_until__lte=at)
    due = WebhookCall.objects.filter(free, state=State.WAITING, next_at__lte=at)
    due = due.filter(webhook__stopped_at__isnull=True).order_by("next_at", "pk")
    for pk in list(due.values_list("pk", flat=True)[:_AT_ONCE]):
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        taken = WebhookCall.objects.filter(free, pk=pk, state=State.WAITING).update(
            lease=token, leased_until=at + _LEASE
        )
        if taken:
            yield WebhookCall.objects.select_related("webhook__lab").get(pk=pk)


@transaction.atomic
def settle(call: WebhookCall, answer: Answer, *, at: dt.datetime) -> bool:
    """Write down what came of a call; returns whether its address is called no more from now on.

    Whoever no longer holds the lease changes nothing.
    """
    webhook = Webhook.objects.select_for_update().get(pk=call.webhook_id)
    mine = WebhookCall.objects.filter(pk=call.pk, lease=call.lease, state=State.WAITING)
    common = {"answered": answer.says, "tries": F("tries") + 1, "lease": "", "leased_until": None}
    if answer.taken:
        if mine.update(state=State.DELIVERED, settled_at=at, **common) and webhook.failing_since:
            webhook.failing_since = None
            webhook.save(update_fields=["failing_since"])
        return False
    pause = PAUSES[min(call.tries, len(PAUSES) - 1)]
    if not mine.update(next_at=at + pause, **common) or webhook.stopped_at:
        return False
    webhook.failing_since = webhook.failing_since or at
    if answer.gone or at - webhook.failing_since >= PATIENCE:
        why = "it answered that it is gone" if answer.gone else "nothing got through for days"
        webhook.stopped_at = at
        webhook.stopped_why = f"{why}; last: {answer.says}"[:_LONGEST_WHY]
    webhook.save(update_fields=["failing_since", "stopped_at", "stopped_why"])
    return webhook.stopped_at is not None


def _call(call: WebhookCall, *, at: dt.datetime, way: Way) -> Answer:
    try:
        target = addresses.read(call.webhook.url, own_host=own_host())
        return calling.post(target, call.body, headers(call, at=at), way=way)
    except Refused as refused:
        return Answer(None, refused.says)


def headers(call: WebhookCall, *, at: dt.datetime) -> dict[str, str]:
    """What travels with a call: its id, the moment, and one signature for each key that counts."""
    seconds, name = int(at.timestamp()), call_id(call)
    signatures = [
        signing.sign(secret, call_id=name, at=seconds, body=call.body)
        for secret in signing.secrets_of(call.webhook.salt)
    ]
    return {
        "Content-Type": "application/json",
        "User-Agent": "cylinder-service",
        "webhook-id": name,
        "webhook-timestamp": str(seconds),
        "webhook-signature": " ".join(signatures),
    }


def call_id(call: WebhookCall) -> str:
    """The id by which a receiver folds repeated calls: the same in every try."""
    return f"call_{call.webhook_id}_{call.place}"


def own_host() -> str:
    """The name of this service, which it does not call."""
    return urlsplit(settings.PUBLIC_URL).hostname or ""


def _body(event: lab_events.LabEvent, tags: Mapping[int, str], webhook: Webhook) -> str:
    data = lab_event.members(event, tags)
    if webhook.lab_id is None:
        data["rin"] = event.rin
    return json.dumps({"type": event.type, "timestamp": data["at"], "data": data})
