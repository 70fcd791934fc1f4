"""Makes cylinders at a lab: ``python -m tests.faults.many_tanks COUNT`` prints the lab's key."""

import json
import sys

import django


def main(count: int) -> None:
    """Migrate, bring so many cylinders (ZZ0, ZZ1 ...) to one lab, and give it a key."""
    django.setup()

    from django.core.management import call_command  # noqa: PLC0415 - Django is set up above

    call_command("migrate", verbosity=0)

    from tests import makers  # noqa: PLC0415 - the same
    from tests.api.v1.lab import make_lab_client, send_to  # noqa: PLC0415 - the same

    client, owner = make_lab_client(), makers.make_customer("Many Tanks")
    orders = [makers.receive(owner, serial=f"ZZ{n}") for n in range(count)]
    for order in orders:
        makers.take_down(order)
    send_to(client.lab, *orders)
    bodies = [makers.record_body(lab_reference=f"B-{n}") for n in range(count)]
    for number, body in enumerate(bodies):
        body["cylinder"]["serial"] = f"ZZ{number}"
    sys.stdout.write(json.dumps({"key": client.key, "bodies": bodies}))


if __name__ == "__main__":
    main(int(sys.argv[1]))
