"""Store less of each event: the digest before it stands in the event before and in the text.

The index on the cylinder alone goes too: the one on cylinder and place begins with the same column.
Both statements leave the table itself in place, and so its triggers, on either engine.
"""

import django.db.models.deletion
from django.db import migrations, models

TABLE = "cylinders_serviceevent"


class Migration(migrations.Migration):
    dependencies = [("cylinders", "0009_lab_reports")]
    operations = [
        migrations.SeparateDatabaseAndState(
            database_operations=[
                migrations.RunSQL(f"DROP INDEX IF EXISTS {TABLE}_cylinder_id_c7384486"),
                migrations.RunSQL(f"ALTER TABLE {TABLE} DROP COLUMN previous"),
            ],
            state_operations=[
                migrations.RemoveField("serviceevent", "previous"),
                migrations.AlterField(
                    "serviceevent",
                    "cylinder",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="cylinders.cylinder",
                    ),
                ),
            ],
        ),
    ]
