"""Plays the whole job, says each step as it comes, and stops at one that goes wrong."""

from collections.abc import Callable

from api.demo import way_home, way_out
from api.demo.job import Job, Told
from api.demo.report import Report
from cylinders.rules.refusal import Refused

STEPS: tuple[tuple[str, Callable[[Job], Told]], ...] = (
    ("intake", way_out.intake),
    ("teardown", way_out.teardown_and_tags),
    ("dispatch", way_out.dispatch),
    ("lab", way_out.at_the_lab),
    ("return", way_home.home_again),
    ("inspection", way_home.inspection),
    ("wrong part refused", way_home.wrong_part),
    ("reassembly", way_home.put_together),
    ("overfill refused", way_home.overfill),
    ("fill", way_home.fill),
    ("ready", way_home.ready),
    ("collected", way_home.collected),
    ("condemned", way_home.condemned),
    ("reminders", way_home.plan_reminders),
)


def play(job: Job, report: Report, *, say: Callable[[str], object]) -> None:
    """Play every step of ``job`` into ``report``; a step that goes wrong ends it."""
    for name, action in STEPS:
        try:
            told = action(job)
        except Refused as refusal:
            told = Told(ok=False, says=f"refused: {refusal.says}")
        done = report.step(name, ok=told.ok, says=told.says, tags=told.tags, files=told.files)
        say(f"{done.n:2}. {name}: {told.says}")
        if not told.ok:
            return
