"""Makes a wall of bags: ``python -m tests.faults.bags BAGS PEOPLE`` prints what stands where."""

import json
import sys

import django

PARTS = 20


def main(bags: int, people: int) -> None:
    django.setup()

    from django.contrib.auth.models import User  # noqa: PLC0415 - Django is set up above
    from django.core.management import call_command  # noqa: PLC0415 - the same
    from django.test import Client  # noqa: PLC0415 - the same

    from cylinders.models import Shop  # noqa: PLC0415 - the same

    call_command("migrate", verbosity=0)
    Shop.objects.create(name="Slack Water Divers", email="shop@example.org")
    sessions = {}
    for number in range(people):
        user = User.objects.create(username=f"hand{number}", is_staff=True)
        client = Client()
        client.force_login(user)
        sessions[user.username] = client.cookies["session"].value
    staff = User.objects.earliest("pk")
    wall: list[tuple[int, str, int]] = []
    while len(wall) < bags:
        wall += _visit(staff.pk, min(PARTS, bags - len(wall)), len(wall))
    sys.stdout.write(json.dumps({"sessions": sessions, "wall": wall}))


def _visit(staff: int, parts: int, serial: int) -> list[tuple[int, str, int]]:
    """A visit whose parts hang in bags: ``(order, code, part)`` of each."""
    from cylinders.facts import Actor  # noqa: PLC0415 - Django is set up above
    from cylinders.operations import inspection, teardown  # noqa: PLC0415 - the same
    from labels.operations import binding  # noqa: PLC0415 - the same
    from tests import makers  # noqa: PLC0415 - the same
    from tests.faults.worlds import GOOD_LOOK  # noqa: PLC0415 - the same

    by, at = Actor("staff", str(staff)), makers.NOON
    order = makers.receive(services=("visual",), serial=f"W{serial}", by=by)
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=at, by=by)
    kinds = ["valve", *["boot"] * (parts - 1)]
    removed = [
        teardown.remove_part(
            work_order_id=order.pk,
            removal=teardown.Removal(
                kind=kind, name="", thread="3/4-14 NPSM" if kind == "valve" else ""
            ),
            at=at,
            by=by,
        )
        for kind in kinds
    ]
    teardown.finish(work_order_id=order.pk, outside="sound", travel_plug=True, at=at, by=by)
    inspection.record(work_order_id=order.pk, look=GOOD_LOOK, on=makers.TODAY, at=at, by=by)
    return [
        (
            order.pk,
            binding.issue(thing=binding.Thing.bag(part), host="CYL.EXAMPLE", at=at, by=by).code,
            part.pk,
        )
        for part in removed
    ]


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
