"""Links, messages, and the clock."""

import datetime as dt
import smtplib
from collections import Counter

from django.core.mail import EmailMessage
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from api import declining, links
from api.models import StatusLink
from cylinders.models import Customer, MessageKind, Notice, NoticeState
from cylinders.operations import reminders
from tests.model.ground import BY, DONE, at_the_shop
from tests.model.intake import NUMBER
from tests.model.tags import Tags
from tests.model.world import dues_of, first, notice_of, pick, when
from tests.post_office import OFFICE, plain_writer

#: What a mail server can do to a message; each certain or not, in its own way.
FAULTS = ("", "", "", "busy", "unknown address", "hung up", "taken, then hung up")
_TOLD = ("requalification", "internal_visual")


class Reach(Tags):
    """How an owner is reached."""

    @rule(
        ahead=st.sampled_from(
            [dt.timedelta(minutes=n) for n in (1, 16, 61)]
            + [dt.timedelta(days=n) for n in (1, 6, 23, 30, 61, 200, 400)]
        )
    )
    def time_goes_by(self, ahead: dt.timedelta) -> None:
        """From a minute to more than a year."""
        self.world.now += ahead

    @precondition(lambda self: self.world.cylinders)
    @rule(statement=st.integers(1, 25))
    def next_fails(self, statement: int) -> None:
        """What is done next meets a full disk at that statement, and is then done again."""
        self.fail_at = statement

    @precondition(lambda self: self.world.cylinders)
    @rule(number=NUMBER, days=st.sampled_from((1, 30, 400)))
    def issue_link(self, number: int, days: int) -> None:
        """The owner gets a link."""
        pk = pick(self.world.cylinders, number)
        lifetime = dt.timedelta(days=days)
        issued = self.do(
            "",
            lambda: links.issue(cylinder_id=pk, at=self.world.now, by=BY, lifetime=lifetime),
        )
        assert issued is not None
        assert issued.token not in str(list(StatusLink.objects.values_list()))
        self.world.links[issued.link.pk] = {
            "token": issued.token,
            "cylinder": pk,
            "owner": self.world.cylinders[pk]["owner"],
            "expires": self.world.now + lifetime,
            "revoked": False,
        }

    @precondition(lambda self: self.world.links)
    @rule(number=NUMBER, reason=st.sampled_from(("phone lost", "phone lost", " ")))
    def revoke_link(self, number: int, reason: str) -> None:
        """One link is ended."""
        pk = pick(self.world.links, number)
        row = self.world.links[pk]
        if self.do(
            first(when(not reason.strip(), "no_reason"), when(row["revoked"], "revoked")),
            lambda: links.revoke(link_id=pk, reason=reason, at=self.world.now, by=BY),
        ):
            row["revoked"] = True

    @precondition(lambda self: self.world.links)
    @rule(number=NUMBER)
    def open_link(self, number: int) -> None:
        """It opens for whoever holds it, until it ends."""
        pk = pick(self.world.links, number)
        row = self.world.links[pk]
        found = links.open_link(row["token"], at=self.world.now)
        sold = self.world.cylinders[row["cylinder"]]["owner"] != row["owner"]
        expected = first(
            when(row["revoked"] or self.world.owners[row["owner"]]["erased"], "revoked"),
            when(sold, "sold"),
            when(row["expires"] <= self.world.now, "expired"),
        )
        if expected:
            assert found == expected
        else:
            assert isinstance(found, StatusLink)
            assert found.pk == pk

    @rule(number=NUMBER, declined=st.booleans())
    def decline(self, *, number: int, declined: bool) -> None:
        """An owner wants no reminders, or wants them again."""
        owner = pick(self.world.owners, number)
        kind = MessageKind.REMINDERS
        if declined:
            declining.decline(customer_id=owner, kind=kind, at=self.world.now)
        else:
            declining.take_back(customer_id=owner, kind=kind)
        self.world.owners[owner]["declined"] = declined

    @precondition(lambda self: self.world.cylinders)
    @rule(
        fault=st.sampled_from(FAULTS),
        hour=st.sampled_from((9, 10, 10, 17, 22)),
        letters=st.booleans(),
        until_due=st.sampled_from((True, True, False)),
    )
    def sweep(self, *, fault: str, hour: int, letters: bool, until_due: bool) -> None:
        """Plan and send, by day or by night, with a mail server that may fail."""
        if until_due:
            self._wait_for_a_reminder()
        self.world.now = now = at_the_shop(self.world.now, hour)
        sent_before = set(_sent())
        unsure = set(Notice.objects.filter(state=NoticeState.UNSURE).values_list("pk", flat=True))
        OFFICE.fault = _Fault(fault) if fault else None
        reminders.sweep(now=now, write=None if letters else plain_writer)
        OFFICE.fault = None
        fresh = [row for row in Notice.objects.filter(pk__in=_sent()) if row.pk not in sent_before]
        if fault == "unknown address":
            self._bounced()
        DONE["reminders and news sent"] += len(fresh)
        assert hour < 18 or not fresh, "nothing goes at night"
        for row in fresh:
            self._rightly_sent(row, again=row.pk in unsure)
        self._all_planned()

    def _wait_for_a_reminder(self) -> None:
        """Let the days go by until one is to go, if one will within the year."""
        world = self.world
        home = [row for pk, row in world.cylinders.items() if not world.open_order(pk)]
        told = [row for row in home if world.owners[row["owner"]]["reachable"]]
        dues = [due for row in told for due in dues_of(row).values()]
        days = [due - dt.timedelta(days=days) for due in dues for days in (60, 0)]
        coming = [day for day in days if dt.timedelta() < day - world.on < dt.timedelta(366)]
        if coming:
            world.now += min(coming) - world.on

    def _bounced(self) -> None:
        """Who was refused by the mail server is written to no more."""
        for owner in Customer.objects.filter(email_bounced=True):
            self.world.owners[owner.pk]["reachable"] = False

    def _rightly_sent(self, row: Notice, *, again: bool) -> None:
        """At home, in service, not declined, to its owner, and the one that is to go today.

        What may have gone before goes again also when its cylinder has come to the shop since.
        """
        world = self.world
        if row.occasion:
            return
        cylinder = world.cylinders[row.cylinder_id]
        owner = world.owners[row.customer_id]
        assert cylinder["life"] == "in_service"
        assert cylinder["owner"] == row.customer_id
        assert owner["reachable"]
        assert not owner["declined"]
        assert again or world.open_order(row.cylinder_id) is None
        if row.duty in _TOLD:
            due = dues_of(cylinder)[row.duty]
            assert (row.due, row.days_before) == (due, notice_of(due, world.on))

    def _all_planned(self) -> None:
        """Every reminder that may go today stands in the table."""
        world = self.world
        planned = set(
            Notice.objects.filter(occasion="").values_list(
                "cylinder_id", "duty", "due", "days_before"
            )
        )
        for pk, row in world.cylinders.items():
            owner = world.owners[row["owner"]]
            if world.open_order(pk) or not owner["reachable"] or owner["declined"]:
                continue
            for duty, due in dues_of(row).items():
                days = notice_of(due, world.on)
                assert days is None or (pk, duty, due, days) in planned, (pk, duty, due, days)

    def mail_adds_up(self) -> None:
        """Sent is planned first; what the mail server took was taken once for each Message-ID."""
        rows = Notice.objects.exclude(message_id="")
        known = set(rows.values_list("message_id", flat=True))
        arrived = Counter(message.extra_headers["Message-ID"] for message in OFFICE.folded)
        gone = set(rows.filter(state=NoticeState.SENT).values_list("message_id", flat=True))
        assert gone <= arrived.keys(), "noted as sent, and never handed over"
        assert arrived.keys() <= known, "handed over, and planned nowhere"
        told = Counter(
            line
            for message in OFFICE.folded
            for line in str(message.body).splitlines()
            if line[:1].isdigit() and line.count(" ") == 3
        )
        assert all(count == 1 for count in told.values()), told


class _Fault:
    """Does what a mail server does when it does not simply take a message."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __call__(self, message: EmailMessage) -> None:
        if self.name == "busy":
            raise smtplib.SMTPRecipientsRefused({message.to[0]: (451, b"later")})
        if self.name == "unknown address":
            raise smtplib.SMTPRecipientsRefused({message.to[0]: (550, b"nobody")})
        if self.name == "taken, then hung up":
            OFFICE.arrived.append(message)
        raise smtplib.SMTPServerDisconnected("gone")


def _sent() -> list[int]:
    return list(Notice.objects.filter(state=NoticeState.SENT).values_list("pk", flat=True))
