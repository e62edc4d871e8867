"""The punch list and its callbacks only grow: the database refuses to change what a row says.

Only what repeats the newest rows may change: state, owner, day, cause.
"""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed, whole_rows

FROZEN = {
    "punchlist_punchitem": (
        "key", "job_id", "number", "text", "room_key", "room_name", "across", "down", "place", "step",
        "by_id", "at",
    ),
    "punchlist_callback": (
        "key", "job_id", "number", "reported_on", "reported_by", "text", "room_name", "by_id", "at",
    ),
}
WHOLE = (
    "punchlist_punchevent", "punchlist_punchoverride", "punchlist_waiveditem", "punchlist_callbackevent",
    "punchlist_callbackentry",
)
KEPT = KeptRows(
    "punch_list_only_grows",
    "a row of the punch list is never changed",
    (
        *(Trigger(f"{table}_no_update", "UPDATE", table, changed(names)) for table, names in FROZEN.items()),
        *(Trigger(f"{table}_no_delete", "DELETE", table) for table in FROZEN),
        *whole_rows(*WHOLE),
    ),
)


class Migration(migrations.Migration):
    dependencies = [("punchlist", "0001_initial")]

    operations = [KEPT.operation()]
