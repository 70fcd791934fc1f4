"""Find a serial however it is written: searching one among a million must not read them all.

PostgreSQL compares and searches without regard to case by ``UPPER``; with this class of operators
one index serves both. SQLite reads its one shop from end to end, which takes it no time. Who was written to today is asked for each claim.
"""

from django.db import migrations, models

NAME = "cylinder_by_serial_anyhow"


def add(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            f"CREATE INDEX {NAME} ON cylinders_cylinder (UPPER(serial::text) text_pattern_ops)"
        )


def drop(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"DROP INDEX {NAME}")


class Migration(migrations.Migration):
    dependencies = [("cylinders", "0011_recall_letters")]
    operations = [
        migrations.RunPython(add, drop),
        migrations.AddIndex(
            "notice", models.Index(fields=["state", "settled_at"], name="notice_settled")
        ),
    ]
