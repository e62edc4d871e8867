"""Photos are records: the database keeps the promises of the models."""

import datetime
import uuid
from functools import partial
from importlib import import_module
from types import SimpleNamespace

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from contracting.documents.rendering import render, render_html
from jobs.inspections import papers
from jobs.inspections.selectors import checks_of
from jobs.photos.models import About, Description, Photo, PhotoUpload, Withdrawal
from jobs.photos.subjects import subjects_of
from tests.estimates.quotes.changes.factories import job_with_a_room_added
from tests.jobs.inspections.factories import check, planned_job, record

from .factories import as_file, job, photo, scene

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _guarded():
    """The tests' own set-up drops the guards against DELETE on SQLite; here they stand."""
    migration = import_module("jobs.photos.migrations.0002_photos_only_grow")
    if connection.vendor == "sqlite":
        editor = SimpleNamespace(connection=connection, execute=connection.cursor().execute)
        migration.KEPT.create(None, editor)


@pytest.mark.parametrize("model", [Photo, Description, Withdrawal])
@pytest.mark.parametrize("act", ["update", "delete"])
def test_the_database_itself_refuses_to_change_or_remove_a_row(installer, model, act):
    taken = photo(job(), installer)
    Withdrawal.objects.create(photo=taken, reason="Blurred.", by=installer, at=timezone.now())
    values = {Photo: {"byte_count": 5}, Description: {"caption": "x"}, Withdrawal: {"reason": "y"}}[model]

    rows = model.objects.all()
    done = partial(rows.update, **values) if act == "update" else partial(rows._raw_delete, rows.db)

    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        done()


def row(of, by, **values):
    filled = {"key": uuid.uuid4(), "job": of, "by": by, "at": timezone.now(), "taken_at": timezone.now()}
    filled["taken_at"] = filled["at"] - datetime.timedelta(minutes=1)
    hashes = dict.fromkeys(("source_sha256", "sha256", "paper_sha256", "small_sha256"), "a" * 64)
    return Photo(**(filled | hashes | {"kind": "jpeg", "byte_count": 1, "width": 1, "height": 1} | values))


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("photo_kind_known", {"kind": "gif"}),
        ("photo_has_its_files", {"sha256": ""}),
        ("photo_has_a_size", {"width": 0}),
        ("photo_place_on_earth", {"latitude": 900_000_001, "longitude": 0}),
        ("photo_place_on_earth", {"latitude": 1, "longitude": None}),
        ("photo_taken_before_stored", {"taken_at": datetime.datetime(2099, 1, 1, tzinfo=datetime.UTC)}),
    ],
)
def test_a_photo_that_cannot_be_is_refused_by_the_database(installer, name, values):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        row(job(), installer, **values).save()


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("photo_upload_state_known", {"state": "lost"}),
        ("photo_upload_within_its_size", {"offset": 11}),
        ("photo_upload_within_its_size", {"size": 0}),
        ("photo_upload_ready_has_its_photo", {"state": "ready"}),
        ("photo_upload_refused_says_why", {"state": "refused"}),
    ],
)
def test_an_upload_that_cannot_be_is_refused_by_the_database(installer, name, values):
    now = timezone.now()
    filled = {"key": uuid.uuid4(), "job": job(), "by": installer, "size": 10, "sha256": "a" * 64}
    filled |= {"taken_at": now, "started_at": now, "moved_at": now}

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        PhotoUpload.objects.create(**(filled | values))


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("photo_description_about_known", {"about_kind": "cat", "supersede": True}),
        ("photo_first_description_once|UNIQUE", {}),
    ],
)
def test_a_description_that_cannot_be_is_refused_by_the_database(installer, name, values):
    taken = photo(job(), installer)
    old = taken.said if values.pop("supersede", False) else None

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        Description.objects.create(
            photo=taken, key=uuid.uuid4(), by=installer, at=timezone.now(), supersedes=old, **values
        )


def test_a_withdrawal_without_a_reason_is_refused_by_the_database(installer):
    with pytest.raises(IntegrityError, match="photo_withdrawal_says_why"), transaction.atomic():
        Withdrawal.objects.create(photo=photo(job(), installer), reason="", by=installer, at=timezone.now())


# --- The inspection record on paper ---


def test_the_inspection_record_shows_the_photos_of_its_checks(installer, pango):
    made = planned_job(crew=(installer,))
    planned = check(made, "side_laps")
    record(planned, installer)
    said = {"caption": "Lap, 2 in", "about": About.CHECK, "ref": str(planned.pk)}
    photo(made, installer, arrows=[[1, 1, 900, 900]], **said)
    photo(made, installer, as_file(scene(64, 48, 5)), caption="Something else")

    snapshot = papers.record_snapshot(checks_of(made), language="en")

    [shown] = snapshot["photos"]
    assert (shown["caption"], shown["about"], shown["by"]) == ("Lap, 2 in", "Hall bath: Side laps", "Ivo")
    html = render_html(papers.KIND, snapshot)
    assert f'href="stored:{shown["paper_sha256"]}"' in html
    assert "<title>Lap, 2 in</title>" in html
    assert render(papers.KIND, snapshot).pdf == render(papers.KIND, snapshot).pdf


def test_an_inspection_record_without_photos_says_nothing_of_them(installer):
    snapshot = papers.record_snapshot(checks_of(planned_job()), language="en")

    assert snapshot["photos"] == []
    assert "<h2>Photos</h2>" not in render_html(papers.KIND, snapshot)


def test_a_photo_can_belong_to_a_room_that_a_signed_change_added():
    rooms = [one for one in subjects_of(job_with_a_room_added()) if one.kind == About.ROOM]

    assert [one.label for one in rooms] == ["Bath 1", "Second bath"]
