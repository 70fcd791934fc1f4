"""``webhooks``: make the calls that are owed now. Cron can call it where no worker runs."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from api.models import Webhook, WebhookCall
from api.webhooks import outbox, stopped


class Command(BaseCommand):
    help = "Call labs and the shop's own system with what happened since."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--list", action="store_true", help="only show who is called")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        if not options["list"]:
            made = outbox.go_round(at=timezone.now())
            for webhook in made.stopped:
                stopped.tell_the_shop(webhook)
            if not options["json"]:
                self.stdout.write(
                    f"{made.noted} new, {made.delivered} delivered, {made.failed} not taken."
                )
        rows = [_row(webhook) for webhook in Webhook.objects.select_related("lab").order_by("pk")]
        if options["json"]:
            self.stdout.write(json.dumps({"webhooks": rows}))
            return
        for row in rows:
            line = "{webhook}  {who}  {url}: {waiting} waiting, {state}"
            self.stdout.write(line.format(**row))


def _row(webhook: Webhook) -> dict[str, Any]:
    waiting = webhook.calls.filter(state=WebhookCall.State.WAITING).count()
    failing = "failing" if webhook.failing_since else "called"
    return {
        "webhook": webhook.pk,
        "who": webhook.lab.rin if webhook.lab else "shop",
        "url": webhook.url,
        "waiting": waiting,
        "state": f"stopped: {webhook.stopped_why}" if webhook.stopped_at else failing,
    }
