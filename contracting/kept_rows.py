"""Rows that a database keeps as they are: triggers that refuse to change or remove them, for migrations.

A migration says what it keeps and ends with one operation::

    KEPT = KeptRows("photo_only_grows", "a photo is never changed", whole_rows("photos_photo"))
    ...
    operations = [KEPT.operation()]

On SQLite a later migration that alters such a table makes it anew and loses its triggers; it ends with the
same operation again, and a test of the table fails where that was forgotten.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

_DIFFERS = {"sqlite": "IS NOT", "postgresql": "IS DISTINCT FROM"}


@dataclass(frozen=True)
class Trigger:
    """One refusal: of *act* ("UPDATE" or "DELETE") on *table*, where *when* holds ("": always).

    *when* is SQL over OLD and NEW, with ``{differs}`` for the comparison that knows NULL: :func:`changed`.
    """

    name: str
    act: str
    table: str
    when: str = ""


@dataclass(frozen=True)
class KeptRows:
    """What is refused, and in which words.

    *function* is the name of PostgreSQL's function behind the triggers; *message* has no quotation mark.
    """

    function: str
    message: str
    triggers: tuple[Trigger, ...]

    def create(self, apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
        """Make the triggers anew; an error that breaks one is an ``IntegrityError`` with the message."""
        vendor = schema_editor.connection.vendor
        self.drop(apps, schema_editor)
        if vendor == "postgresql":
            schema_editor.execute(
                f"CREATE FUNCTION {self.function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
                f"RAISE EXCEPTION '{self.message}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
            )
        for one in self.triggers:
            when = f"WHEN ({one.when.format(differs=_DIFFERS[vendor])}) " if one.when else ""
            head = f"CREATE TRIGGER {one.name} BEFORE {one.act} ON {one.table} "
            if vendor == "sqlite":
                schema_editor.execute(f"{head}{when}BEGIN SELECT RAISE(ABORT, '{self.message}'); END")
            else:
                schema_editor.execute(f"{head}FOR EACH ROW {when}EXECUTE FUNCTION {self.function}()")

    def drop(self, apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
        """Take the triggers away; none need be there."""
        is_postgres = schema_editor.connection.vendor == "postgresql"
        for one in self.triggers:
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {one.name}{f' ON {one.table}' * is_postgres}")
        if is_postgres:
            schema_editor.execute(f"DROP FUNCTION IF EXISTS {self.function}()")

    def operation(self) -> migrations.RunPython:
        """Return the operation that makes them."""
        return migrations.RunPython(self.create, self.drop)


def changed(columns: Iterable[str]) -> str:
    """Return the condition that one of *columns* is about to change."""
    return " OR ".join(f'NEW."{name}" {{differs}} OLD."{name}"' for name in columns)


def whole_rows(*tables: str) -> tuple[Trigger, ...]:
    """Return the refusals for tables whose rows are only added."""
    return tuple(
        Trigger(f"{table}_no_{act.lower()}", act, table) for table in tables for act in ("UPDATE", "DELETE")
    )
