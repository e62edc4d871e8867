"""Every row that a migration keeps is kept by the database as it stands after the last migration."""

import re

import pytest
from django.apps import apps
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from contracting.kept_rows import KeptRows

pytestmark = pytest.mark.django_db

# What may still be noted on a row whose other columns are kept: a later state, its paper, who it is left to.
ANSWER = {"status", "signed_name", "answer_note", "answered_on", "recorded_at", "recorded_by_id"}
MOVES = {
    "billing_invoice": {"document_id"},
    "punchlist_callback": {"cause", "is_covered", "state", "visit_on", "visitor_id"},
    "punchlist_punchitem": {"due_on", "owner_id", "state"},
    "quotes_acceptance": {"document_id"},
    "quotes_changeacceptance": {"document_id"},
    "quotes_changeorder": {"created_at", "created_by_id", "document_id", *ANSWER},
    "quotes_changevisit": {"staff_id"},
    "quotes_linkvisit": {"staff_id"},
    "quotes_quote": {"document_id", *ANSWER},
    # Hours logged before their person's pay was entered are costed when it is.
    "work_hoursentry": {"pay_cents_per_hour", "burden_basis_points", "cost_cents"},
}


def triggers():
    """Return the newest trigger of each name, in the order of the migrations."""
    loader = MigrationLoader(None)
    newest = {}
    for node in sorted(loader.disk_migrations):
        for operation in loader.disk_migrations[node].operations:
            keeper = getattr(getattr(operation, "code", None), "__self__", None)
            if isinstance(keeper, KeptRows):
                newest |= {trigger.name: trigger for trigger in keeper.triggers}
    return newest


def frozen_columns():
    """Return what each table keeps of its rows, where it is not the whole row."""
    found = {}
    for trigger in triggers().values():
        if trigger.act == "UPDATE" and trigger.when:
            found[trigger.table] = set(re.findall(r'NEW\."(\w+)"', trigger.when))
    return found


def test_every_trigger_stands_after_the_last_migration():
    """SQLite makes a table anew to alter it, and its triggers are gone unless they are made again."""
    asked = {
        "sqlite": "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname, tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal",
    }
    with connection.cursor() as cursor:
        cursor.execute(asked[connection.vendor])
        stand = set(cursor.fetchall())

    # On SQLite the suite's own set-up takes the refusals to delete away, to empty tables between tests.
    acts = {"sqlite": {"UPDATE"}, "postgresql": {"UPDATE", "DELETE"}}[connection.vendor]
    wanted = {(trigger.name, trigger.table) for trigger in triggers().values() if trigger.act in acts}

    assert len(wanted) > 20
    assert wanted - stand == set()


def test_what_a_model_calls_frozen_is_what_the_database_keeps():
    frozen = frozen_columns()
    models = [model for model in apps.get_models() if hasattr(model, "FROZEN")]

    assert len(models) > 4
    for model in models:
        assert frozen[model._meta.db_table] == set(model.FROZEN), model


def test_a_new_column_of_a_kept_row_is_kept_unless_it_is_named_here():
    frozen, moves = frozen_columns(), {}
    for model in apps.get_models():
        if kept := frozen.get(model._meta.db_table):
            columns = {field.column for field in model._meta.local_concrete_fields if not field.primary_key}
            moves[model._meta.db_table] = columns - kept

    assert {table: columns for table, columns in moves.items() if columns} == MOVES
