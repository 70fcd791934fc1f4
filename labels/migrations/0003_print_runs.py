"""Keep what is known of each label of a print run.

SQLite rebuilds the table of tags for this, which drops its triggers; they are set again at the end.
"""

from django.db import migrations, models

TABLE = "labels_tag"
REFUSAL = "a code is for ever"
TRIGGERS = [
    f"""CREATE TRIGGER IF NOT EXISTS {TABLE}_no_delete BEFORE DELETE ON {TABLE}
        BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END""",
    f"""CREATE TRIGGER IF NOT EXISTS {TABLE}_no_new_code BEFORE UPDATE OF code ON {TABLE}
        WHEN OLD.code <> NEW.code
        BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END""",
]


def guard_again(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for statement in TRIGGERS:
            schema_editor.execute(statement)


def leave(apps, schema_editor):
    """Going back rebuilds the table once more; 0002 sets the triggers anew."""


class Migration(migrations.Migration):

    dependencies = [
        ('cylinders', '0004_figures_of_the_owner'),
        ('labels', '0002_codes_are_for_ever'),
    ]

    operations = [
        migrations.AddField(
            model_name='printrun',
            name='confirmed_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='printrun',
            name='printer',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='tag',
            name='place',
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='tag',
            name='printed',
            field=models.CharField(blank=True, choices=[('reserved', 'reserved'), ('sent', 'sent to the printer'), ('confirmed', 'seen and good'), ('spoiled', 'spoiled')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='tag',
            constraint=models.UniqueConstraint(fields=('print_run', 'place'), name='one_label_per_place_in_a_run'),
        ),
        migrations.AddConstraint(
            model_name='tag',
            constraint=models.CheckConstraint(condition=models.Q(('printed', 'spoiled'), ('state', 'live'), _negated=True), name='a_spoiled_label_is_never_bound'),
        ),
        migrations.RunPython(guard_again, leave),
    ]
