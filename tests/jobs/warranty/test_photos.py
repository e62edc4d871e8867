"""Photos in a warranty record: which ones, frozen by hash, on the pages, in the data."""

import datetime
import hashlib
import io
import json
import re
import uuid

import pdfua
import pypdf
import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone

from contracting.documents.tasks import render_document
from jobs.inspections.models import Kind, PlannedCheck
from jobs.photos import services as photo_services
from jobs.photos import storing
from jobs.photos.models import About
from jobs.warranty import photographs, services, signing
from jobs.warranty.models import PhotoChoice
from tests.jobs.inspections.factories import check
from tests.jobs.photos.factories import as_file, exif, photo, scene

from .factories import inspected_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def finished(installer):
    return inspected_job(crew=(installer,))


def shots(job, by):
    """One photo of each sort, taken one minute after the other; by name."""
    flood = PlannedCheck.objects.get(plan__job=job, kind=Kind.FLOOD)
    substrate = PlannedCheck.objects.filter(plan__job=job, hold="substrate accepted")[0]
    sorts = {
        "job": (About.JOB, ""),
        "tile": (About.STEP, "tile"),
        "waterproofing": (About.STEP, "waterproofing"),
        "final": (About.CHECK, str(check(job, "final").pk)),
        "substrate": (
            About.CHECK,
            str(substrate.pk),
        ),
        "laps": (About.CHECK, str(check(job, "side_laps").pk)),
        "flood": (About.FLOOD, str(flood.pk)),
        "flood by its key": (About.FLOOD, str(flood.flood_starts.get().key)),
    }
    start = timezone.now() - datetime.timedelta(hours=2)
    return {
        name: photo(
            job,
            by,
            as_file(scene(120, 90, place)),
            caption=name,
            about=about,
            ref=ref,
            taken_at=start + datetime.timedelta(minutes=place),
        )
        for place, (name, (about, ref)) in enumerate(sorts.items())
    }


def carried(job):
    return [one.shot.said.caption for one in photographs.candidates_of(job) if one.is_in]


def test_the_rule_takes_what_is_hidden_afterwards_and_what_proves_it(finished, installer):
    shots(finished, installer)

    assert carried(finished) == [
        "waterproofing", "final", "substrate", "laps", "flood", "flood by its key"
    ]  # fmt: skip


def test_of_too_many_the_office_s_come_first_then_flood_tests_membrane_and_the_rest(
    finished, installer, office_manager, monkeypatch
):
    taken = shots(finished, installer)
    orders = {}
    for most in (1, 2, 3, 4, 5):
        monkeypatch.setattr(photographs, "MOST", most)
        orders[most] = carried(finished)
    assert orders == {
        1: ["flood"],
        2: ["flood", "flood by its key"],
        3: ["laps", "flood", "flood by its key"],
        4: ["substrate", "laps", "flood", "flood by its key"],
        5: ["final", "substrate", "laps", "flood", "flood by its key"],
    }
    monkeypatch.setattr(photographs, "MOST", 2)
    services.photos_choose(job=finished, photos=[taken["job"].pk, taken["flood"].pk], by=office_manager)
    assert carried(finished) == ["job", "flood"]


def test_the_office_changes_the_choice_and_later_photos_follow_the_rule(finished, installer, office_manager):
    taken = shots(finished, installer)
    keep = [taken[name].pk for name in ("job", "final", "substrate", "laps", "flood by its key")]

    assert services.photos_choose(job=finished, photos=[*keep, 10**17], by=office_manager) == 5

    # Only what differs from the rule is stored.
    stored = {(row.photo_id, row.is_in) for row in PhotoChoice.objects.all()}
    assert stored == {(taken["job"].pk, True), (taken["waterproofing"].pk, False), (taken["flood"].pk, False)}
    photo(
        finished, installer, as_file(scene(seed=99)), caption="later", about=About.STEP, ref="waterproofing"
    )
    assert carried(finished) == ["job", "final", "substrate", "laps", "flood by its key", "later"]


def test_more_than_a_record_carries_is_refused_and_the_ticks_are_kept(
    client, finished, installer, office_manager, monkeypatch
):
    taken = shots(finished, installer)
    monkeypatch.setattr(photographs, "MOST", 2)
    with pytest.raises(ValidationError, match="3 photos are chosen; a record carries at most 2"):
        services.photos_choose(
            job=finished, photos=[taken[n].pk for n in ("job", "tile", "laps")], by=office_manager
        )
    client.force_login(office_manager)

    page = client.post(
        reverse("warranty:photos", args=[finished.pk]),
        {"photo": [taken[n].pk for n in ("job", "tile", "laps")]},
    ).content.decode()

    assert "a record carries at most 2" in page
    assert page.count(" checked>") == 3
    assert not PhotoChoice.objects.exists()


def test_an_installer_chooses_nothing(finished, installer):
    with pytest.raises(PermissionDenied):
        services.photos_choose(job=finished, photos=[], by=installer)


def test_the_page_of_the_choice_asks_as_often_for_two_photos_as_for_twenty(
    client, finished, installer, office_manager
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.force_login(office_manager)
    counts = []
    for first, last in ((0, 2), (2, 20)):
        for n in range(first, last):
            photo(finished, installer, as_file(scene(64, 48, n)), about=About.STEP, ref="waterproofing")
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse("warranty:photos", args=[finished.pk])).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1], counts


def issue(job, by):
    return services.record_issue(job=job, by=by, at=timezone.now())


def test_a_record_freezes_words_times_and_hashes(finished, installer, office_manager):
    taken = shots(finished, installer)
    photo_services.photo_withdraw(photo=taken["laps"], reason="Blurred.", by=office_manager)

    record = issue(finished, office_manager)

    frozen = record.snapshot["photos"]
    assert [one["caption"] for one in frozen] == [
        "waterproofing", "final", "substrate", "flood", "flood by its key"
    ]  # fmt: skip
    first, flood = frozen[0], frozen[3]
    assert first == {
        "sha256": taken["waterproofing"].sha256,
        "paper_sha256": taken["waterproofing"].paper_sha256,
        "width": 120,
        "height": 90,
        "caption": "waterproofing",
        "about": "Waterproofing",
        "arrows": [],
        "taken_at": taken["waterproofing"].taken_at.isoformat(),
        "by": "Ivo",
    }
    assert flood["about"] == "Hall bath: Flood test"
    # What is said or withdrawn afterwards changes nothing of it.
    said = photo_services.Said("changed", About.JOB, "")
    photo_services.photo_describe(
        key=uuid.uuid4(), old=taken["waterproofing"].said, said=said, by=office_manager
    )
    photo_services.photo_withdraw(photo=taken["flood"], reason="Shows a face.", by=office_manager)
    record.refresh_from_db()
    assert record.snapshot["photos"] == frozen
    assert services.content_sha256(record.snapshot) == record.sha256


def test_the_paper_shows_each_photo_once_byte_for_byte_as_its_hash_says(
    finished, installer, office_manager, printed
):
    shots(finished, installer)
    record = issue(finished, office_manager)

    pdf = printed(record)

    frozen = record.snapshot["photos"]
    images = {}
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        objects = page["/Resources"].get("/XObject", {})
        for held in objects.values():
            held = held.get_object()
            if held.get("/Subtype") == "/Image":
                # The bytes as they stand in the file: a JPEG is its own stream.
                images[hashlib.sha256(held._data).hexdigest()] = held["/Filter"]
    assert images == dict.fromkeys([one["paper_sha256"] for one in frozen], "/DCTDecode")
    # And so in the data that the PDF carries.
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    [inside] = reader.attachments[signing.ATTACHMENT]
    assert json.loads(inside)["photos"] == frozen


def test_arrows_are_burnt_in_and_every_photo_has_words_for_who_cannot_see_it(
    finished, installer, office_manager, printed, tmp_path
):
    for caption, arrows in (("Lap at the curb", [[1000, 1000, 5000, 5000]]), ("Corner", []), ("", [])):
        content, said = as_file(scene(300, 200, len(caption)), exif=exif()), {"caption": caption}
        said |= {"arrows": arrows, "about": About.STEP, "ref": "waterproofing"}
        photo(finished, installer, content, **said)
    record = issue(finished, office_manager)

    pdf = printed(record)

    (tmp_path / "record.pdf").write_bytes(pdf)
    report = pdfua.validate(tmp_path / "record.pdf")
    assert [str(one) for one in report.findings if one.severity.name == "ERROR"] == []
    figures = set(_alternatives(pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]))
    assert {"Lap at the curb", "Corner", "Waterproofing"} <= figures
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert "Lap at the curb. " in text
    # The arrow's own colour as a stroke, 162, 67 and 28 of 255, on no page of a record without arrows.
    drawn = b"".join(page.get_contents().get_data() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert re.search(rb"0\.635\d* 0\.262\d* 0\.109\d* RG", drawn)


def _alternatives(node):
    node = node.get_object()
    if "/Alt" in node:
        yield str(node["/Alt"])
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        if hasattr(kid.get_object(), "get"):
            yield from _alternatives(kid)


@pytest.mark.parametrize("harm", ["gone", "changed"])
def test_a_photo_that_was_changed_in_the_store_keeps_its_record_from_being_printed(
    finished, installer, office_manager, pango, key, harm
):
    taken = shots(finished, installer)
    record = issue(finished, office_manager)
    name = storing.name_of(taken["flood"].paper_sha256)
    default_storage.delete(name)
    if harm == "changed":
        default_storage.save(name, ContentFile(as_file(scene(120, 90, seed=77))))

    render_document(record.document_id)

    record.document.refresh_from_db()
    assert record.document.is_failed
    assert "is missing from the store, or was changed there" in record.document.error


def test_a_record_from_before_there_were_photos_prints_as_it_was(finished, office_manager, printed):
    from jobs.warranty.papers import paper_context

    record = issue(finished, office_manager)
    old = {key: value for key, value in record.snapshot.items() if key != "photos"}

    assert paper_context(old)["photos"] == []
