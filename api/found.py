"""A finder writes to the shop; the shop answers for it. Nobody's name is told to a finder."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from api.models import FoundMessage
from cylinders.rules.refusal import Refused
from labels.models import Tag

LONGEST = 1_000
#: What was dealt with is kept for a year and a little, then forgotten with the finder's address.
KEPT = dt.timedelta(days=396)
#: More than this many unanswered messages about one tag are somebody's game.
_MOST_OPEN = 10


@transaction.atomic
def write(*, code: str, text: str, reply_to: str, at: dt.datetime) -> FoundMessage:
    """Keep what a finder wrote about the tag ``code``; raises :class:`Refused`."""
    if not Tag.objects.filter(code=code).exists():
        raise Refused("unknown_code", _("That is none of our tags. Call the shop instead."))
    if not text.strip():
        raise Refused("empty", _("Write where you found it, or what is wrong with it."))
    if len(text) > LONGEST:
        raise Refused(
            "too_long",
            _("Write at most %(longest)s letters; a call tells more.") % {"longest": LONGEST},
        )
    if FoundMessage.objects.filter(code=code, handled_at__isnull=True).count() >= _MOST_OPEN:
        raise Refused("enough", _("The shop has been told. Call it if it is urgent."))
    return FoundMessage.objects.create(
        code=code, text=text.strip(), reply_to=reply_to.strip()[:200], at=at
    )


@transaction.atomic
def handled(*, message_id: int, at: dt.datetime) -> FoundMessage:
    """Note that the shop has dealt with a message."""
    message = FoundMessage.objects.select_for_update().filter(pk=message_id).first()
    if message is None:
        raise Refused("unknown_message", _("There is no such message."))
    if message.handled_at is None:
        message.handled_at = at
        message.save(update_fields=["handled_at"])
    return message


@transaction.atomic
def forget(*, before: dt.datetime) -> int:
    """Forget messages that were dealt with before then; returns how many."""
    return FoundMessage.objects.filter(handled_at__lt=before).delete()[0]
