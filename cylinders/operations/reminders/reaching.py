"""On which channel a customer is reached: the one way, for one row, a query or a decision.

Whoever agreed to text messages gets texts, where the shop has set them up; everybody else gets
e-mail. A message goes on one channel only, so that nobody is told twice.
"""

from django.conf import settings
from django.db.models import Exists, OuterRef, Q

from cylinders.models import Channel, Customer, Declined, MessageKind
from cylinders.operations.reminders.reasons import Why


def texts_are_set_up() -> bool:
    """Whether the settings name a way by which text messages go."""
    return bool(settings.TEXT_SENDER)


def channels() -> tuple[str, ...]:
    """The channels that messages go on in this shop."""
    return tuple(Channel.values) if texts_are_set_up() else (Channel.EMAIL.value,)


def reachable(kind: MessageKind, channel: str, *, prefix: str = "", in_writing: bool = False) -> Q:
    """Customers who are to be told on ``channel``; ``prefix`` leads to them in a query.

    With ``in_writing`` e-mail goes first and a text only where there is no other way.
    """
    number = OuterRef(f"{prefix}pk")
    declined = Q(Exists(Declined.objects.filter(kind=kind, customer=number)))
    by_text = Q(**{f"{prefix}text_consent": True, f"{prefix}text_refused": False})
    by_text &= ~Q(**{f"{prefix}phone": ""})
    by_mail = Q(**{f"{prefix}email_consent": True, f"{prefix}email_bounced": False})
    by_mail &= ~Q(**{f"{prefix}email": ""})
    if not texts_are_set_up():
        return by_mail & ~declined
    first, second = (by_mail, by_text) if in_writing else (by_text, by_mail)
    mine = by_text if channel == Channel.TEXT else by_mail
    return (mine if mine is first else second & ~first) & ~declined


def cannot_reach(customer: Customer, kind: MessageKind, channel: str) -> Why | None:
    """What keeps the shop from writing to a customer on ``channel``, or None."""
    if channel == Channel.TEXT:
        address, consent = customer.phone, customer.text_consent
        refused = customer.text_refused or not texts_are_set_up()
    else:
        address, consent = customer.email, customer.email_consent
        refused = customer.email_bounced
    if not address or refused:
        return Why.NO_ADDRESS
    if not consent:
        return Why.NO_CONSENT
    if customer.declined.filter(kind=kind).exists():
        return Why.DECLINED
    return None
