"""Tell the owners of a recall: one letter each, and only because a person confirmed it.

A row is written before the letter goes, so nobody is told twice; one that may have gone stays so
until a person decides. A letter that was certainly not taken may be confirmed again.
"""

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, RecallTold
from cylinders.models import Customer, LetterState, RecallLetter, TestRecord
from cylinders.queries.recall import Suspect
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

#: a letter that was confirmed so lately is still on its way to the mail server
_UNDER_WAY = dt.timedelta(minutes=10)


def key_of(suspect: Suspect, first: dt.date, last: dt.date) -> str:
    """The name of one recall: what was asked, always the same for the same question."""
    told = {
        "calibrated_cylinder": suspect.calibrated_cylinder,
        "equipment": suspect.equipment,
        "operator": suspect.operator,
        "rin": suspect.rin,
        "first": first.isoformat(),
        "last": last.isoformat(),
    }
    return hashlib.sha256(history.canonical(told).encode()).hexdigest()


def by_owner(records: Iterable[TestRecord]) -> dict[Customer, list[TestRecord]]:
    """The records of each present owner, in their order."""
    found: dict[Customer, list[TestRecord]] = {}
    for record in records:
        found.setdefault(record.cylinder.owner, []).append(record)
    return found


@transaction.atomic
def confirm(
    *,
    recall: str,
    customer_id: int,
    told: Mapping[int, list[int]],
    reason: str,
    on_paper: bool,
    at: dt.datetime,
    by: Actor,
) -> RecallLetter:
    """Note that one owner is to be told; ``told`` maps cylinders to records.

    A letter on paper counts as handed over at once; a mail is ``sending`` until :func:`settle`.
    Raises :class:`Refused`: ``no_reason``, ``told_already``, ``no_address``.
    """
    if not reason.strip():
        raise Refused("no_reason", say("Write what was found to be wrong."))
    customer = Customer.objects.select_for_update().get(pk=customer_id)
    reachable = customer.email and customer.email_consent and not customer.email_bounced
    if not on_paper and not reachable:
        says = say("{name} cannot be written to by mail: print the letter.", name=customer.name)
        raise Refused("no_address", says)
    letter = RecallLetter.objects.filter(recall=recall, customer=customer).first()
    if letter and not may_be_told(letter, at=at):
        says = say("{name} was told of this already.", name=customer.name)
        raise Refused("told_already", says)
    letter = letter or RecallLetter(recall=recall, customer=customer)
    letter.told = {str(cylinder): records for cylinder, records in sorted(told.items())}
    letter.reason, letter.state = reason, LetterState.SENDING
    letter.confirmed_by, letter.confirmed_at, letter.settled_at = str(by), at, None
    letter.save()
    if on_paper:
        _note(letter, LetterState.PRINTED, at=at, by=by)
    return letter


@transaction.atomic
def settle(*, letter_id: int, sent: bool, at: dt.datetime, by: Actor) -> RecallLetter:
    """Note what became of a mail: taken by the server, or certainly not."""
    letter = RecallLetter.objects.select_for_update().get(pk=letter_id)
    if letter.state == LetterState.SENDING:
        _note(letter, LetterState.SENT if sent else LetterState.FAILED, at=at, by=by)
    return letter


def may_be_told(letter: RecallLetter, *, at: dt.datetime) -> bool:
    """Whether a person may tell its owner again: it did not go, or nobody knows after a while."""
    if letter.state == LetterState.SENDING:
        return letter.confirmed_at <= at - _UNDER_WAY
    return letter.state == LetterState.FAILED


def _note(letter: RecallLetter, state: LetterState, *, at: dt.datetime, by: Actor) -> None:
    letter.state, letter.settled_at = state, at
    letter.save(update_fields=["state", "settled_at"])
    if state == LetterState.FAILED:
        return
    how = "paper" if state == LetterState.PRINTED else "e-mail"
    for number in sorted(int(one) for one in letter.told):
        facts = RecallTold(letter=letter.pk, records=letter.told[str(number)], how=how)
        history.append(history.lock(number), facts, at=at, by=by)
