"""Every operation, each ready to be done once: what the fault tests fail at every statement.

A case sets its world up and returns the one call. ``CASES`` names each by module and function; a
new operation without a case fails a test.
"""

import datetime as dt
from collections.abc import Callable
from typing import Any

from api import declining, links
from cylinders.models import (
    Lab,
    MessageKind,
    NoticeState,
    Shop,
)
from cylinders.operations import (
    amendment,
    condemnation,
    consignment,
    correction,
    handover,
    inspection,
    intake,
    owner_rows,
    oxygen,
    privacy,
    reassembly,
    retest,
    stamp,
    teardown,
    undoing,
)
from cylinders.operations.reminders import steering
from labels.operations import binding, runs
from tests import makers
from tests.faults import worlds
from tests.faults.worlds import AT, GOOD_LOOK, HOST, ON, OTHER_MONTH, OVER, WHO

Act = Callable[[], object]


def with_(world: Callable[[], Any], act: Callable[[Any], object]) -> Callable[[], Act]:
    """A case: set ``world`` up, then the one call on it."""

    def case() -> Act:
        there = world()
        return lambda: act(there)

    return case


CASES: dict[str, Callable[[], Act]] = {
    "intake.receive_new": with_(makers.make_customer, makers.receive),
    "intake.receive_again": with_(
        worlds.gone,
        lambda o: intake.receive_again(cylinder_id=o.cylinder_id, arrival=intake.Arrival(), **WHO),
    ),
    "teardown.prove_empty": with_(
        makers.receive,
        lambda o: teardown.prove_empty(work_order_id=o.pk, how="no hiss", **WHO),
    ),
    "teardown.remove_part": with_(
        worlds.proven,
        lambda o: teardown.remove_part(
            work_order_id=o.pk, removal=teardown.Removal(kind="boot"), **WHO
        ),
    ),
    "teardown.finish": with_(
        worlds.all_down,
        lambda o: teardown.finish(work_order_id=o.pk, outside="sound", travel_plug=True, **WHO),
    ),
    "consignment.pack": with_(
        worlds.torn_down,
        lambda o: consignment.pack(work_order_id=o.pk, lab_id=Lab.objects.get().pk, **WHO),
    ),
    "consignment.send": with_(
        worlds.packed,
        lambda o: consignment.send(
            consignment_id=o.lines.get().consignment_id, carrier="van 2", on=ON, **WHO
        ),
    ),
    "consignment.take_back": with_(
        worlds.at_the_lab, lambda o: consignment.take_back(work_order_id=o.pk, **WHO)
    ),
    "undoing.unpack": with_(worlds.packed, lambda o: undoing.unpack(work_order_id=o.pk, **WHO)),
    "undoing.undo_return": with_(
        worlds.home, lambda o: undoing.undo_return(work_order_id=o.pk, **WHO)
    ),
    "undoing.unfit_part": with_(
        worlds.fitted,
        lambda p: undoing.unfit_part(work_order_id=p.work_order_id, part_id=p.pk, **WHO),
    ),
    "retest.receive_record": with_(worlds.at_the_lab, worlds.receive),
    "retest.receive_record, over the limit": with_(
        worlds.at_the_lab, lambda o: worlds.receive(o, **OVER)
    ),
    "retest.receive_record, held": with_(
        worlds.at_the_lab, lambda o: worlds.receive(o, stamp=OTHER_MONTH)
    ),
    "retest.decide_held": with_(
        lambda: worlds.reported(stamp=OTHER_MONTH),
        lambda r: retest.decide_held(record_id=r.pk, attach=True, reason="seen", **WHO),
    ),
    "amendment.correct_record": with_(worlds.reported, worlds.correct),
    "amendment.void_record": with_(
        worlds.reported,
        lambda r: amendment.void_record(
            lab_id=r.lab_id, lab_reference=r.lab_reference, reason="wrong cylinder", **WHO
        ),
    ),
    "stamp.compare_stamp": with_(
        worlds.home,
        lambda o: stamp.compare_stamp(work_order_id=o.pk, typed="11 Z9/99 26", on=ON, **WHO),
    ),
    "inspection.record": with_(
        worlds.visual_only,
        lambda o: inspection.record(work_order_id=o.pk, look=GOOD_LOOK, on=ON, **WHO),
    ),
    "oxygen.clean": with_(
        worlds.torn_down,
        lambda o: oxygen.clean(work_order_id=o.pk, method="UV lamp", on=ON, **WHO),
    ),
    "oxygen.break_clean": with_(
        makers.receive,
        lambda o: oxygen.break_clean(cylinder_id=o.cylinder_id, why="oil", **WHO),
    ),
    "reassembly.service_part": with_(
        worlds.inspected, lambda o: worlds.service(o.parts.get(kind="valve"))
    ),
    "reassembly.account_part": with_(
        worlds.inspected, lambda o: worlds.account(o.parts.get(kind="boot"))
    ),
    "fitting.offer_part": with_(
        worlds.inspected, lambda o: worlds.offer(o, o.parts.get(kind="valve"))
    ),
    "fitting.offer_part, refused": with_(worlds.inspected, lambda o: worlds.offer(o, None)),
    "reassembly.finish": with_(
        worlds.answered_for, lambda o: reassembly.finish(work_order_id=o.pk, **WHO)
    ),
    "filling.fill": with_(makers.receive, lambda o: worlds.fill(o, 2000)),
    "filling.fill, refused": with_(makers.receive, lambda o: worlds.fill(o, 4000)),
    "handover.call_ready": with_(
        worlds.together, lambda o: handover.call_ready(work_order_id=o.pk, **WHO)
    ),
    "handover.hand_over": with_(
        worlds.ready, lambda o: handover.hand_over(work_order_id=o.pk, to_owner=True, **WHO)
    ),
    "handover.withdraw": with_(
        worlds.packed, lambda o: handover.withdraw(work_order_id=o.pk, reason="sold it", **WHO)
    ),
    "handover.change_owner": with_(
        worlds.heir, lambda w: handover.change_owner(cylinder_id=w[0], owner_id=w[1], **WHO)
    ),
    "condemnation.reject": with_(
        worlds.packed, lambda o: condemnation.reject(work_order_id=o.pk, reason="dent", **WHO)
    ),
    "condemnation.condemn": with_(
        makers.receive,
        lambda o: condemnation.condemn(
            work_order_id=o.pk, reason="crack", marked="X by Z999", **WHO
        ),
    ),
    "correction.correct_marking": with_(
        makers.receive,
        lambda o: correction.correct_marking(
            cylinder_id=o.cylinder_id, field="serial", becomes="KX1", reason="misread", **WHO
        ),
    ),
    "owner_rows.add_row": with_(
        makers.technician_one,
        lambda _: owner_rows.add_row(
            subject="country",
            name="FR",
            figures=owner_rows.Figures(visual_months=12),
            since=ON,
            cites="the text",
            reason="a customer from there",
            **WHO,
        ),
    ),
    "privacy.note_look": with_(
        makers.make_customer,
        lambda c: privacy.note_look(customer_id=c.pk, where="order", **WHO),
    ),
    "privacy.forget_old_looks": with_(
        worlds.looked_at, lambda _: privacy.forget_old_looks(at=AT + dt.timedelta(days=500))
    ),
    "privacy.agree": with_(
        worlds.declined,
        lambda pk: privacy.agree(customer_id=pk, given=True, wording="Write to me", **WHO),
    ),
    "privacy.change_address": with_(
        makers.make_customer,
        lambda c: privacy.change_address(
            customer_id=c.pk, name="Odo Quill", email="new@example.org", phone="", **WHO
        ),
    ),
    "privacy.note_export": with_(
        makers.make_customer, lambda c: privacy.note_export(customer_id=c.pk, **WHO)
    ),
    "privacy.choose_language": with_(
        worlds.looked_at, lambda pk: privacy.choose_language(customer_id=pk, language="fr", **WHO)
    ),
    "privacy.erase_again": with_(
        worlds.declined, lambda pk: privacy.erase_again(customer_id=pk, **WHO)
    ),
    "privacy.erase": with_(
        worlds.declined, lambda pk: privacy.erase(customer_id=pk, reason="asked by mail", **WHO)
    ),
    "steering.pause": with_(
        lambda: Shop.objects.create(name="Slack Water Divers"),
        lambda _: steering.pause(paused=True),
    ),
    "steering.set_days": with_(
        lambda: Shop.objects.create(name="Slack Water Divers"),
        lambda _: steering.set_days(duty="requalification", days_before=(45, 0)),
    ),
    "steering.stop": with_(
        lambda: worlds.waiting(NoticeState.PLANNED),
        lambda n: steering.stop(notice_id=n.pk, at=AT),
    ),
    "steering.try_again": with_(
        lambda: worlds.waiting(NoticeState.FAILED), lambda n: steering.try_again(notice_id=n.pk)
    ),
    "binding.issue": with_(
        makers.receive, lambda o: binding.issue(thing=worlds.thing(o), host=HOST, **WHO)
    ),
    "binding.bind": with_(
        worlds.blank, lambda w: binding.bind(code=w[0], thing=worlds.thing(w[1]), **WHO)
    ),
    "binding.replace": with_(
        worlds.tagged, lambda code: binding.replace(code=code, host=HOST, reason="torn", **WHO)
    ),
    "binding.retire": with_(
        worlds.tagged, lambda code: binding.retire(code=code, reason="lost", **WHO)
    ),
    "runs.start": with_(
        makers.technician_one,
        lambda _: runs.start(key="form", count=2, host=HOST, printer="roll", **WHO),
    ),
    "runs.confirm": with_(
        lambda: (makers.technician_one(), worlds.run())[1],
        lambda run: runs.confirm(run_id=run, last_good=1, at=AT),
    ),
    "links.issue": with_(makers.receive, lambda o: links.issue(cylinder_id=o.cylinder_id, **WHO)),
    "links.revoke": with_(
        worlds.link, lambda i: links.revoke(link_id=i.link.pk, reason="lost", **WHO)
    ),
    "links.revoke_all": with_(
        worlds.link,
        lambda i: links.revoke_all(cylinder_id=i.link.cylinder_id, reason="lost", **WHO),
    ),
    "links.change_owner": with_(
        worlds.heir, lambda w: links.change_owner(cylinder_id=w[0], owner_id=w[1], **WHO)
    ),
    "declining.decline": with_(
        makers.make_customer,
        lambda c: declining.decline(customer_id=c.pk, kind=MessageKind.REMINDERS, at=AT),
    ),
    "declining.take_back": with_(
        worlds.declined,
        lambda pk: declining.take_back(customer_id=pk, kind=MessageKind.REMINDERS),
    ),
}
