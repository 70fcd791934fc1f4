"""A trigger that keeps the history from being changed is missed when it is gone."""

# ruff: noqa: S608 - the names of the tables are this module's own

import pytest
from django.core.checks import run_checks
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from api import arming, guards
from tests import makers, settings

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
EVENTS = "cylinders_serviceevent"
REBUILT = (
    f"CREATE TABLE rebuilt AS SELECT * FROM {EVENTS}",
    f"DROP TABLE {EVENTS}",
    f"ALTER TABLE rebuilt RENAME TO {EVENTS}",
)


def run(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def rebuild() -> None:
    makers.receive()
    connection.check_constraints()  # nothing may be left to check when the table goes
    run(*REBUILT)


def errors() -> list[str]:
    return [str(found.msg) for found in run_checks(tags=["database"], databases=["default"])]


def is_refused(statement: str) -> bool:
    try:
        with transaction.atomic():
            run(statement)
    except DatabaseError:
        return True
    return False


def test_a_migrated_database_has_every_trigger() -> None:
    assert guards.problems() == []
    assert errors() == []


def test_a_table_that_was_rebuilt_has_lost_its_triggers_and_that_is_found(
    capsys: pytest.CaptureFixture[str],
) -> None:
    rebuild()
    assert not is_refused(f"UPDATE {EVENTS} SET actor = actor")
    lost = 2 if settings.TEST_ENGINE == "sqlite" else 1
    assert len(guards.problems()) == len(errors()) == lost
    assert f"{EVENTS}_no_" in errors()[0]
    with pytest.raises(SystemExit):
        call_command("verify")
    assert "does not stand" in capsys.readouterr().out


def test_what_was_lost_is_set_again_on_demand(capsys: pytest.CaptureFixture[str]) -> None:
    rebuild()
    call_command("verify", "--set-guards")
    said = capsys.readouterr()
    assert "Set again" in said.err
    assert "nothing altered" in said.out
    assert guards.problems() == []
    assert is_refused(f"UPDATE {EVENTS} SET actor = actor")
    assert is_refused(f"DELETE FROM {EVENTS}")


def test_a_trigger_that_no_longer_refuses_does_not_count() -> None:
    if settings.TEST_ENGINE == "sqlite":
        name = f"{EVENTS}_no_update"
        run(
            f"DROP TRIGGER {name}",
            f"CREATE TRIGGER {name} BEFORE UPDATE ON {EVENTS} BEGIN SELECT 1; END",
        )
    else:
        run(f"ALTER TABLE {EVENTS} DISABLE TRIGGER {EVENTS}_no_change")
    [problem] = guards.problems()
    assert EVENTS in problem
    assert guards.set_again()
    assert guards.problems() == []


def test_codes_are_guarded_too() -> None:
    on = "" if settings.TEST_ENGINE == "sqlite" else " ON labels_tag"
    run(f"DROP TRIGGER labels_tag_no_delete{on}")
    [problem] = guards.problems()
    assert "labels_tag_no_delete" in problem


def test_a_half_restored_place_lets_no_command_run() -> None:
    arming.unfinished().touch()
    try:
        assert "api.E002" in [found.id for found in run_checks()]
    finally:
        arming.unfinished().unlink()
