"""What happens after a copy was taken: a person is erased, a key and a link end, a no is said."""

import django


def main() -> None:
    django.setup()

    from django.contrib.auth.models import User  # noqa: PLC0415 - Django is set up above
    from django.utils import timezone  # noqa: PLC0415 - the same

    from api import declining, keys, links  # noqa: PLC0415 - the same
    from api.backups import since  # noqa: PLC0415 - the same
    from api.models import LabKey, StatusLink  # noqa: PLC0415 - the same
    from cylinders.facts import Actor  # noqa: PLC0415 - the same
    from cylinders.models import Customer, MessageKind, WorkOrder  # noqa: PLC0415 - the same
    from cylinders.operations import privacy  # noqa: PLC0415 - the same

    now, by = timezone.now(), Actor("staff", "1")
    customer = Customer.objects.earliest("pk")
    WorkOrder.objects.filter(customer=customer).update(closed_at=now)
    other = Customer.objects.latest("pk")
    declining.decline(customer_id=other.pk, kind=MessageKind.REMINDERS, at=now)
    privacy.agree(customer_id=other.pk, given=False, wording="by letter", at=now, by=by)
    links.revoke(link_id=StatusLink.objects.get().pk, reason="asked", at=now, by=by)
    User.objects.create(pk=99, username="gone", is_active=False)
    User.objects.filter(pk=1).update(is_active=False)
    keys.revoke(prefix=LabKey.objects.get().prefix, at=now)
    privacy.erase(customer_id=customer.pk, reason="asked by letter", at=now, by=by)
    since.write()


if __name__ == "__main__":
    main()
