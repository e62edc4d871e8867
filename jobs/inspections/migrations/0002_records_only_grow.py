"""Inspection records only grow: the database itself refuses to change or remove a row."""

from django.db import migrations

from contracting.kept_rows import KeptRows, whole_rows

TABLES = (
    "inspections_inspectionplan", "inspections_plannedcheck", "inspections_floodstart",
    "inspections_checkrecord", "inspections_nonconformance", "inspections_correctiveaction",
    "inspections_closure", "inspections_holdpointoverride", "inspections_waivedcheck",
)
KEPT = KeptRows(
    "inspection_record_only_grows",
    "an inspection record is never changed, only superseded",
    whole_rows(*TABLES),
)


class Migration(migrations.Migration):
    dependencies = [("inspections", "0001_initial")]

    operations = [KEPT.operation()]
