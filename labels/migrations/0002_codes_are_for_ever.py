"""Make the database refuse to delete a tag or to change its code.

A code that was printed may hang on a cylinder for decades; it must never be given again. A later
migration that rebuilds the table on SQLite must run these statements again.
"""

from django.db import migrations

TABLE = "labels_tag"
REFUSAL = "a code is for ever"

SQLITE = [
    f"""CREATE TRIGGER {TABLE}_no_delete BEFORE DELETE ON {TABLE}
        BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END""",
    f"""CREATE TRIGGER {TABLE}_no_new_code BEFORE UPDATE OF code ON {TABLE}
        WHEN OLD.code <> NEW.code
        BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END""",
]
POSTGRESQL = [
    f"""CREATE OR REPLACE FUNCTION {TABLE}_refuse() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$""",
    f"""CREATE TRIGGER {TABLE}_no_delete BEFORE DELETE ON {TABLE}
        FOR EACH ROW EXECUTE FUNCTION {TABLE}_refuse()""",
    f"""CREATE TRIGGER {TABLE}_no_new_code BEFORE UPDATE OF code ON {TABLE}
        FOR EACH ROW WHEN (OLD.code IS DISTINCT FROM NEW.code)
        EXECUTE FUNCTION {TABLE}_refuse()""",
]
UNDO_SQLITE = [f"DROP TRIGGER {TABLE}_no_delete", f"DROP TRIGGER {TABLE}_no_new_code"]
UNDO_POSTGRESQL = [
    f"DROP TRIGGER {TABLE}_no_delete ON {TABLE}",
    f"DROP TRIGGER {TABLE}_no_new_code ON {TABLE}",
    f"DROP FUNCTION {TABLE}_refuse()",
]


def guard(apps, schema_editor):
    run(schema_editor, {"sqlite": SQLITE, "postgresql": POSTGRESQL})


def unguard(apps, schema_editor):
    run(schema_editor, {"sqlite": UNDO_SQLITE, "postgresql": UNDO_POSTGRESQL})


def run(schema_editor, by_vendor):
    vendor = schema_editor.connection.vendor
    if vendor not in by_vendor:
        raise RuntimeError(f"codes cannot be guarded on {vendor}; use SQLite or PostgreSQL")
    for statement in by_vendor[vendor]:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("labels", "0001_tags")]
    operations = [migrations.RunPython(guard, unguard)]
