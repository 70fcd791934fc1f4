"""A lab's paper to one of its records: a chart, a check of the day, a certificate."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor
from cylinders.models import Attachment, FileKind, Shows, TestRecord
from cylinders.operations import filing
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

MOST = 20
#: what a paper of a lab can show
OF_A_PAPER = (
    *(Shows.CALIBRATION, Shows.CHART, Shows.TRACE),
    *(Shows.CERTIFICATE, Shows.DAMAGE, Shows.OTHER),
)


@transaction.atomic
def add(
    *, record_id: int, file: int, shows: str, at: dt.datetime, by: Actor
) -> tuple[Attachment, bool]:
    """Let a kept file belong to a record; False where this very content belongs to it already.

    A record that is held, void or superseded takes papers too: they help to decide. Raises
    :class:`Refused` ``too_many_attachments``.
    """
    if shows not in OF_A_PAPER:
        words = ", ".join(OF_A_PAPER)
        raise Refused("unknown_word", say("Say what it shows: {words}.", words=words))
    record = TestRecord.objects.get(pk=record_id)
    cylinder = history.lock(record.cylinder_id)
    about = filing.About(FileKind.PAPER, shows, work_order=record.work_order_id, record=record.pk)
    added, new = filing.attach(cylinder, file, about, at=at, by=by)
    if record.attachments.count() > MOST:
        says = say("A record has at most {most} attachments.", most=MOST)
        raise Refused("too_many_attachments", says)
    return added, new
