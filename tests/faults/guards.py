"""Guards that are broken on purpose, one at a time: tests that cannot tell mean nothing.

Each row names one guard, how it is broken (a text of a module that becomes another, or a statement
to the database), and a few tests of which at least one must then fail. All of them by a command:

    python -m tests.faults.guards
"""

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
_HOLD = "tests/faults/test_guards_hold.py"
_HISTORY = "tests/cylinders/test_history.py"
_BENCH = "tests/cylinders/operations/test_bench_steps.py"
_RETEST = "tests/cylinders/operations/test_retest.py"
_SWEEP = "tests/cylinders/operations/reminders/test_sweep.py"


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """One guard; ``was`` stands once in ``where`` and is replaced by ``becomes``."""

    name: str
    tests: str
    where: str = ""
    was: str = ""
    becomes: str = ""
    statement: str = ""
    engine: str = "sqlite"

    def broken(self) -> str:
        """The source with the guard broken."""
        source = (ROOT / self.where).read_text(encoding="utf-8")
        if source.count(self.was) != 1:
            raise ValueError(f"{self.name}: {self.was!r} does not stand once in {self.where}")
        return source.replace(self.was, self.becomes)


GUARDS = (
    Guard(
        name="one open visit of a cylinder",
        statement="DROP INDEX one_open_visit_per_cylinder",
        tests=f"{_HOLD}::test_the_database_refuses_a_double",
    ),
    Guard(
        name="one live tag of a cylinder",
        statement="DROP INDEX one_live_tag_per_cylinder",
        tests=f"{_HOLD}::test_the_database_refuses_a_double",
    ),
    Guard(
        name="no event is changed",
        statement="DROP TRIGGER cylinders_serviceevent_no_update",
        tests=f"{_HISTORY}::test_the_database_refuses_to_change_or_remove_an_event",
    ),
    Guard(
        name="no code is deleted",
        statement="DROP TRIGGER labels_tag_no_delete",
        tests="tests/labels/test_runs.py::test_the_database_refuses_to_delete_a_code_or_to_change_it",
    ),
    Guard(
        name="a part leaves its bag once",
        where="cylinders/operations/fitting.py",
        was="filter(pk=part.pk, whereabouts=Whereabouts.BAGGED).update",
        becomes="filter(pk=part.pk).update",
        tests=f"{_HOLD}::test_a_bag_that_somebody_emptied_after_the_look_is_not_fitted_twice",
    ),
    Guard(
        name="the write lock from the beginning",
        where="api/environment.py",
        was='"transaction_mode": "IMMEDIATE"',
        becomes='"transaction_mode": "DEFERRED"',
        tests=f"{_HOLD}::test_who_works_on_a_cylinder_keeps_others_from_it",
    ),
    Guard(
        name="the lock of a cylinder",
        where="cylinders/history.py",
        was="Cylinder.objects.select_for_update().get(pk=cylinder_id)",
        becomes="Cylinder.objects.get(pk=cylinder_id)",
        tests=f"{_HOLD}::test_who_works_on_a_cylinder_keeps_others_from_it",
        engine="postgresql",
    ),
    Guard(
        name="the look before a message goes",
        where="cylinders/operations/reminders/sending.py",
        was="return check_reminder(row, cylinder, on=day.on, shop=shop)",
        becomes="return Checked()",
        tests=f"{_SWEEP}::test_nothing_is_sent_for_a_duty_that_was_done",
    ),
    Guard(
        name="the lease of a message",
        where="cylinders/operations/reminders/sending.py",
        was="        lease_token=going.token,\n",
        becomes="",
        tests=f"{_HOLD}::test_a_sweeper_whose_lease_is_over_says_nothing_of_the_message",
    ),
    Guard(
        name="encoders",
        where="labels/qr.py",
        was="if first != second:",
        becomes="if first is None:",
        tests="tests/labels/test_qr.py::test_nothing_is_minted_when_the_second_encoder_disagrees",
    ),
    Guard(
        name="the stamp against the record",
        where="cylinders/operations/stamp.py",
        was="differences = _differences(mark, record)",
        becomes="differences = ()",
        tests=f"{_RETEST}::test_a_stamp_that_differs_is_told_apart",
    ),
    Guard(
        name="a digest for each text",
        where="cylinders/chain.py",
        was="if event.digest != digest_of(event.text):",
        becomes="if event.digest is None:",
        tests=f"{_HISTORY}::test_what_was_altered_behind_the_triggers_is_found",
    ),
    Guard(
        name="no work on a condemned cylinder",
        where="cylinders/operations/visit.py",
        was="if cylinder.life != Life.IN_SERVICE:",
        becomes="if cylinder.life is None:",
        tests=f"{_BENCH}::test_a_ready_cylinder_that_was_condemned_since_is_not_handed_over_as_ready",
    ),
    Guard(
        name="a link ends with its owner",
        where="api/links.py",
        was="if link.customer_id != link.cylinder.owner_id:",
        becomes="if link.customer_id is None:",
        tests="tests/api/test_links.py",
    ),
    Guard(
        name="a result is never edited",
        where="cylinders/operations/retest.py",
        was=" or held.body != body_text:",
        becomes=":",
        tests=f"{_RETEST}::test_the_same_record_twice_is_one_record_and_another_text_is_refused",
    ),
)


def caught(guard: Guard) -> bool:
    """Whether the tests of a guard fail when it is broken; runs them in a process of its own."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:randomly"]
    command += ["-p", "no:cacheprovider", "-p", "tests.faults.breaking", guard.tests]
    env = os.environ | {"BREAK_GUARD": guard.name, "TEST_ENGINE": guard.engine}
    env.pop("DJANGO_SETTINGS_MODULE", None)
    ran = subprocess.run(command, cwd=ROOT, env=env, check=False, capture_output=True, text=True)
    last = ran.stdout.strip().rpartition("\n")[2]
    if ran.returncode not in (0, 1) or " error" in last:
        raise RuntimeError(f"{guard.name}: the tests did not run: {ran.stdout[-2000:]}")
    return ran.returncode == 1


def main() -> None:
    """Break each in turn, and say which were caught."""
    missed = 0
    for guard in GUARDS:
        began = time.monotonic()
        found = caught(guard)
        missed += not found
        word = "caught" if found else "MISSED"
        sys.stdout.write(f"{word:7} {guard.name} ({time.monotonic() - began:.0f} s)\n")
        sys.stdout.flush()
    sys.stdout.write(f"{len(GUARDS) - missed} of {len(GUARDS)} caught\n")
    sys.exit(bool(missed))


if __name__ == "__main__":
    main()
