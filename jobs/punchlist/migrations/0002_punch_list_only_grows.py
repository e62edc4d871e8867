"""The punch list and its callbacks only grow: the database refuses to change what a row says.

Only what repeats the newest rows may change: state, owner, day, cause. On SQLite a later migration that
alters one of these tables makes the table anew and loses its triggers; such a migration ends with
:func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

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
MESSAGE = "a row of the punch list is never changed"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION punch_list_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    unlike = {"sqlite": "IS NOT", "postgresql": "IS DISTINCT FROM"}[vendor]
    for table in (*FROZEN, *WHOLE):
        changed = " OR ".join(f'NEW."{name}" {unlike} OLD."{name}"' for name in FROZEN.get(table, ()))
        for act in ("UPDATE", "DELETE"):
            when = f"WHEN ({changed})" if changed and act == "UPDATE" else ""
            name = f"{table}_no_{act.lower()}"
            if vendor == "sqlite":
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {act} ON {table} {when} "
                    f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
                )
            else:
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH ROW {when} "
                    "EXECUTE FUNCTION punch_list_only_grows()"
                )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    for table in (*FROZEN, *WHOLE):
        for act in ("update", "delete"):
            where = f" ON {table}" if vendor == "postgresql" else ""
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{act}{where}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS punch_list_only_grows()")


class Migration(migrations.Migration):
    dependencies = [("punchlist", "0001_initial")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
