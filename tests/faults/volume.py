"""Fills a service: ``python -m tests.faults.volume CYLINDERS EVENTS_EACH``, and a little more.

Every history is made by the service's own door; most of its events are fills that were refused.
"""

import datetime as dt
import sys

import django


def main(cylinders: int, each: int) -> None:
    django.setup()

    from django.contrib.auth.models import User  # noqa: PLC0415 - Django is set up above
    from django.core.management import call_command  # noqa: PLC0415 - the same
    from django.db import transaction  # noqa: PLC0415 - the same
    from django.utils import timezone  # noqa: PLC0415 - the same

    from api import keys, links  # noqa: PLC0415 - the same
    from cylinders import history  # noqa: PLC0415 - the same
    from cylinders.facts import Actor, FillRefused  # noqa: PLC0415 - the same
    from cylinders.models import Shop  # noqa: PLC0415 - the same
    from cylinders.operations import privacy  # noqa: PLC0415 - the same
    from tests import makers  # noqa: PLC0415 - the same

    call_command("migrate", verbosity=0)
    Shop.objects.create(name="Slack Water Divers", email="shop@example.org")
    User.objects.create(pk=1, username="tessa", is_staff=True)
    owner = makers.make_customer("Bruna Tidewell")
    by = Actor("staff", "1")
    other = makers.make_customer("Ilse Barrowmere")
    privacy.agree(customer_id=other.pk, given=True, wording="by mail", at=makers.NOON, by=by)
    with transaction.atomic():
        for number in range(cylinders):
            order = makers.receive(owner, serial=f"V{number}")
            locked = history.lock(order.cylinder_id)
            for minute in range(each - 1):
                facts = FillRefused(order.pk, "0.32", "3300", "psi", ["out_of_date"])
                at = makers.NOON + dt.timedelta(minutes=minute)
                history.append(locked, facts, at=at, by=by)
    links.issue(cylinder_id=order.cylinder_id, at=timezone.now(), by=by)
    keys.issue(lab_id=makers.make_lab().pk, at=timezone.now())


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
