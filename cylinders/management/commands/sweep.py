"""``sweep``: plan and send the customers' messages now. Cron can call it where no worker runs."""

import dataclasses
import datetime as dt
import json
import sys
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from cylinders.models import Notice, NoticeState, Shop
from cylinders.operations import reminders
from cylinders.operations.reminders import Swept
from cylinders.queries.shop_day import shop_day, zone_of

NOON = dt.time(12)


def day(text: str) -> dt.date:
    """Read ``YYYY-MM-DD``."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no day; write YYYY-MM-DD") from None


class Command(BaseCommand):
    help = "Plan and send the reminders and news that are to go now."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--on", type=day, help="as if it were noon of that day at the shop")
        parser.add_argument("--ahead", type=int, metavar="DAYS", help="only show what would go")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        zone = zone_of(Shop.objects.first())
        on = options["on"]
        now = dt.datetime.combine(on, NOON, tzinfo=zone) if on else timezone.now()
        if options["ahead"] is not None:
            self.show_ahead(shop_day(now, zone=zone).on, options["ahead"], as_json=options["json"])
            return
        swept = reminders.sweep(now=now)
        left = self.left_over()
        if options["json"]:
            answer = dataclasses.asdict(swept) | {"on": swept.on.isoformat(), "left": left}
            self.stdout.write(json.dumps(answer))
        else:
            self.stdout.write(told(swept, left))
        if swept.failed:
            sys.exit(1)

    def show_ahead(self, on: dt.date, ahead: int, *, as_json: bool) -> None:
        """Print what would go in the coming days; nothing is written or sent."""
        rows = sorted(reminders.outlook(on=on, ahead=ahead), key=lambda row: row.send_on)
        lines = [
            {
                "send_on": max(row.send_on, on).isoformat(),
                "cylinder": str(row.cylinder),
                "duty": row.duty,
                "due": row.due.isoformat(),
                "days_before": row.days_before,
            }
            for row in rows
        ]
        if as_json:
            self.stdout.write(json.dumps({"on": on.isoformat(), "ahead": ahead, "items": lines}))
            return
        for line in lines:
            self.stdout.write("{send_on}  {cylinder}: {duty}, due {due}".format(**line))
        self.stdout.write(f"{len(lines)} reminders would go from {on} in {ahead} days.")

    def left_over(self) -> dict[str, int]:
        """How many rows a person should know of: still to go, failed, unsure."""
        states = (NoticeState.PLANNED, NoticeState.FAILED, NoticeState.UNSURE)
        return {state.value: Notice.objects.filter(state=state).count() for state in states}


def told(swept: Swept, left: dict[str, int]) -> str:
    """The sweep in sentences."""
    sent = f"{swept.messages} messages sent ({swept.sent} notices)"
    lines = [
        f"{swept.on}: {swept.planned} planned, {sent}, {swept.withdrawn} withdrawn.",
        *swept.says,
    ]
    if swept.put_off:
        lines.append(f"{swept.put_off} put off by the mail server; they are tried again.")
    if swept.failed:
        lines.append(f"{swept.failed} failed: the address or the message was refused.")
    if swept.unsure:
        lines.append(f"{swept.unsure} unsure: they may have gone, and go once more in 15 minutes.")
    lines.append(f"Now {left['planned']} wait, {left['failed']} failed, {left['unsure']} unsure.")
    return "\n".join(lines)
