"""Make the database itself refuse to change or remove an event.

Models and admin can be walked round (bulk updates, raw SQL); row triggers cannot. A later migration
that rebuilds the table on SQLite drops them without a word: it must run these statements again.
"""

from django.db import migrations

TABLE = "cylinders_serviceevent"
REFUSAL = "history is append-only"

SQLITE = [
    f"""CREATE TRIGGER {TABLE}_no_{verb} BEFORE {verb.upper()} ON {TABLE}
        BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"""
    for verb in ("update", "delete")
]
POSTGRESQL = [
    f"""CREATE OR REPLACE FUNCTION {TABLE}_refuse() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$""",
    f"""CREATE TRIGGER {TABLE}_no_change BEFORE UPDATE OR DELETE ON {TABLE}
        FOR EACH ROW EXECUTE FUNCTION {TABLE}_refuse()""",
]
UNDO_SQLITE = [f"DROP TRIGGER {TABLE}_no_{verb}" for verb in ("update", "delete")]
UNDO_POSTGRESQL = [
    f"DROP TRIGGER {TABLE}_no_change ON {TABLE}",
    f"DROP FUNCTION {TABLE}_refuse()",
]


def guard(apps, schema_editor):
    run(schema_editor, {"sqlite": SQLITE, "postgresql": POSTGRESQL})


def unguard(apps, schema_editor):
    run(schema_editor, {"sqlite": UNDO_SQLITE, "postgresql": UNDO_POSTGRESQL})


def run(schema_editor, by_vendor):
    vendor = schema_editor.connection.vendor
    if vendor not in by_vendor:
        raise RuntimeError(f"history cannot be guarded on {vendor}; use SQLite or PostgreSQL")
    for statement in by_vendor[vendor]:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("cylinders", "0001_the_first_tables")]
    operations = [migrations.RunPython(guard, unguard)]
