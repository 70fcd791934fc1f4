"""Writes into the histories of a service, one event after the other, until it is killed."""

import itertools
import sys
import time

import django

PAUSE = 0.005  # seconds between two events: without one, SQLite lets no second writer in for long


def main() -> None:
    django.setup()

    from django.db import transaction  # noqa: PLC0415 - Django is set up above
    from django.utils import timezone  # noqa: PLC0415 - the same

    from cylinders import history  # noqa: PLC0415 - the same
    from cylinders.facts import Actor, FillRefused  # noqa: PLC0415 - the same
    from cylinders.models import Cylinder  # noqa: PLC0415 - the same

    numbers = list(Cylinder.objects.values_list("pk", flat=True))
    for count, number in enumerate(itertools.cycle(numbers)):
        with transaction.atomic():
            facts = FillRefused(1, "0.32", "3300", "psi", ["out_of_date"])
            by = Actor("staff", "1")
            history.append(history.lock(number), facts, at=timezone.now(), by=by)
        if not count:
            sys.stdout.write("writing\n")
            sys.stdout.flush()
        time.sleep(PAUSE)


if __name__ == "__main__":
    main()
