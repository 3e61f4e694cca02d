"""Room on each page of the priority table, so that a recompute updates in place (HOT)."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("assessments", "0001_initial")]

    operations = [
        migrations.RunSQL(
            "ALTER TABLE priority SET (fillfactor = 45)", "ALTER TABLE priority RESET (fillfactor)"
        )
    ]
