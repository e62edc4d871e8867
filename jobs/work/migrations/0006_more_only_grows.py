"""The log's new columns, and orders and stock, only grow too; see ``0003_log_only_grows``.

On SQLite ``0005`` has made two of the tables anew and lost their triggers.
"""

from importlib import import_module

from django.db import migrations

first = import_module("jobs.work.migrations.0003_log_only_grows")
COMMON = first.COMMON
FROZEN = {
    **first.FROZEN,
    "work_progressentry": (
        *first.FROZEN["work_progressentry"], "quantity_thousandths", "of_thousandths", "unit",
    ),
    "work_daynote": (*first.FROZEN["work_daynote"], "cause", "low_tenths", "high_tenths"),
    "work_supplyentry": (
        *COMMON, "kind", "material_key", "material_name", "packs_millionths", "reference", "expected_on",
    ),
}


class Migration(migrations.Migration):
    dependencies = [("work", "0005_supplies_and_quantities")]

    operations = [first.kept(FROZEN).operation()]
