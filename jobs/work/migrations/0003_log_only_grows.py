"""The daily log only grows: the database itself refuses to change what an entry says.

Rate and cost of hours are derived and may be worked out again.
"""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed

COMMON = ("key", "job_id", "day", "note", "by_id", "at", "supersedes_id")
FROZEN = {
    "work_hoursentry": (*COMMON, "person_id", "step", "minutes"),
    "work_deliveryentry": (
        *COMMON, "step", "material_key", "material_name", "pack_label", "packs_millionths", "lot_numbers",
        "cost_cents", "is_cost_confirmed",
    ),
    "work_costentry": (*COMMON, "step", "what", "amount_cents"),
    "work_progressentry": (*COMMON, "step", "done_basis_points"),
    "work_daynote": (*COMMON, "kind", "text", "minutes"),
}


def kept(frozen: dict[str, tuple[str, ...]]) -> KeptRows:
    """Return the refusals for tables of the log, with the columns of each that stay."""
    return KeptRows(
        "log_entry_only_grows",
        "an entry of the daily log is never changed, only superseded",
        tuple(
            Trigger(f"{table}_only_grows", "UPDATE", table, changed(names)) for table, names in frozen.items()
        ),
    )


class Migration(migrations.Migration):
    dependencies = [("work", "0002_daily_log")]

    operations = [kept(FROZEN).operation()]
