"""/api/v1/webhooks: a lab is called with what happened, instead of asking for it."""

import json
from collections.abc import Mapping
from typing import Any, ClassVar

from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api.keys import Scope
from api.models import Webhook, WebhookCall
from api.problems import Fault, Problem
from api.v1 import answers, paging, shapes, strict_body
from api.v1 import webhook_shapes as own
from api.v1.authentication import caller_of
from api.v1.described import described
from api.v1.view import LabView
from api.webhooks import addresses, managing, outbox
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.judgement.reader import Fields
from cylinders.rules.refusal import Refused

PATH = "/api/v1/webhooks"
#: refusals that are about a member of the body
_PLACES = {"webhook_address": "/url", "unknown_type": "/types"}


class Webhooks(LabView):
    """The lab's addresses."""

    scopes: ClassVar[Mapping[str, str]] = {
        "GET": Scope.READ_EVENTS,
        "POST": Scope.WRITE_WEBHOOKS,
    }

    @described(
        name="list_webhooks",
        answers={200: shapes.page_of("Webhook")},
        parameters=shapes.PAGE_PARAMETERS,
    )
    def get(self, request: Request) -> HttpResponse:
        """List your addresses, those that are called no more among them."""
        return paging.page(request, _own(request), lambda rows: [_webhook(row) for row in rows])

    @described(
        name="register_webhook",
        answers={201: own.FRESH},
        bodies={answers.MEDIA_TYPE: own.NEW},
    )
    def post(self, request: Request) -> HttpResponse:
        """Have an address called with every event from now on.

        Each call is a POST of `{"type", "timestamp", "data"}`, where `data` is the event as `GET
        events` lists it. It carries `webhook-id`, `webhook-timestamp` and `webhook-signature`.
        Answer 2xx within ten seconds. A call that was not taken is made again, later and later;
        after five days without any the address is called no more, and at once after 410. A call may
        come twice and out of order: fold by its id, sort by `place`.
        """
        paging.no_query(request)
        url, types = _read(strict_body.read_json(request))
        lab = caller_of(request).lab
        try:
            made, secret = managing.register(lab_id=lab.pk, url=url, types=types, at=timezone.now())
        except Refused as refused:
            raise _problem(refused) from refused
        members = _webhook(made) | {"secret": secret}
        return answers.of(members, status=201, location=f"{PATH}/{made.pk}").response()


class OneWebhook(LabView):
    """One address."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_EVENTS}

    @described(name="read_webhook", answers={200: own.WEBHOOK}, parameters=(own.NUMBER,))
    def get(self, request: Request, number: int) -> HttpResponse:
        """Read how an address stands."""
        paging.no_query(request)
        return answers.of(_webhook(_one(request, number))).response()


class Stop(LabView):
    """The end of one address."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_WEBHOOKS}

    @described(name="stop_webhook", answers={200: own.WEBHOOK}, parameters=(own.NUMBER,))
    def post(self, request: Request, number: int) -> HttpResponse:
        """Have an address called no more. A second time changes nothing."""
        paging.no_query(request)
        managing.stop(_one(request, number), why="the lab stopped it", at=timezone.now())
        return answers.of(_webhook(_one(request, number))).response()


class Resume(LabView):
    """One address again."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_WEBHOOKS}

    @described(
        name="resume_webhook",
        answers={200: own.WEBHOOK},
        parameters=(own.NUMBER,),
        more_problems=(409,),
    )
    def post(self, request: Request, number: int) -> HttpResponse:
        """Have a stopped address called again, first with what it is still owed."""
        paging.no_query(request)
        try:
            managing.resume(_one(request, number), at=timezone.now())
        except Refused as refused:
            raise _problem(refused) from refused
        return answers.of(_webhook(_one(request, number))).response()


class Calls(LabView):
    """The calls of one address."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_EVENTS}

    @described(
        name="list_webhook_calls",
        answers={200: shapes.page_of("WebhookCall")},
        parameters=(own.NUMBER, *shapes.PAGE_PARAMETERS),
    )
    def get(self, request: Request, number: int) -> HttpResponse:
        """List what is owed to an address and what came of each call."""
        rows = _one(request, number).calls.order_by("pk")
        return paging.page(request, rows, lambda found: [_call(row) for row in found])


class Again(LabView):
    """One call again."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_WEBHOOKS}

    @described(
        name="repeat_webhook_call",
        answers={200: own.CALL},
        parameters=(own.NUMBER, own.PLACE),
    )
    def post(self, request: Request, number: int, place: int) -> HttpResponse:
        """Have one call made again, whatever came of it before, under the same id."""
        paging.no_query(request)
        call = _one(request, number).calls.filter(place=place).first()
        if call is None:
            raise Problem("not_found", "That address is owed no call of that place.")
        managing.replay(call, at=timezone.now())
        call.refresh_from_db()
        return answers.of(_call(call)).response()


def _own(request: Request) -> QuerySet[Webhook]:
    return Webhook.objects.filter(lab=caller_of(request).lab).order_by("pk")


def _one(request: Request, number: int) -> Webhook:
    found = _own(request).filter(pk=number).first()
    if found is None:
        raise Problem("not_found", "You have registered no webhook of that number.")
    return found


def _read(value: object) -> tuple[str, list[str]]:
    faults: list[Any] = []
    fields = Fields(value, "", faults)
    url = fields.text("url", most=addresses.LONGEST)
    types = value.get("types") if isinstance(value, dict) else None
    fields.given("types")
    if not isinstance(types, list) or not all(isinstance(one, str) for one in types):
        fields.note("types", "wrong_type", "must be a list of event types; empty for all")
        types = []
    if len(set(types)) < len(types):
        fields.note("types", "twice", "names a type twice")
    fields.close()
    if faults:
        raise strict_body.misshapen(UnusableBody(faults))
    return url, types


def _problem(refused: Refused) -> Problem:
    place = _PLACES.get(refused.code)
    if place:
        fault = Fault(place, refused.code, refused.says)
        return Problem("invalid_body", refused.says, faults=(fault,))
    return Problem("webhook_refused", refused.says)


def _webhook(row: Webhook) -> dict[str, Any]:
    return {
        "webhook": row.pk,
        "url": row.url,
        "types": row.types,
        "made_at": row.made_at.isoformat(),
        "failing_since": row.failing_since.isoformat() if row.failing_since else None,
        "stopped_at": row.stopped_at.isoformat() if row.stopped_at else None,
        "stopped_why": row.stopped_why or None,
        "calls": f"{PATH}/{row.pk}/calls",
    }


def _call(row: WebhookCall) -> dict[str, Any]:
    waiting = row.state == WebhookCall.State.WAITING
    return {
        "place": row.place,
        "id": outbox.call_id(row),
        "type": json.loads(row.body)["type"],
        "state": row.state,
        "tries": row.tries,
        "answered": row.answered or None,
        "next_at": row.next_at.isoformat() if waiting else None,
        "settled_at": row.settled_at.isoformat() if row.settled_at else None,
    }
