"""Sending photos in pieces: gone on with, repeated, overtaken, spoilt, left lying."""

import datetime
import hashlib
import uuid
from pathlib import Path

import pytest
import time_machine
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone

from jobs.photos import storing, uploads
from jobs.photos.models import About, Photo, PhotoUpload, UploadPiece, UploadState

from .factories import announcement, as_file, job, scene

pytestmark = pytest.mark.django_db
PIECE = 8_192


@pytest.fixture
def phone(client, installer):
    client.force_login(installer)
    return Phone(client)


class Phone:
    def __init__(self, client):
        self.client = client

    def announce(self, told):
        return self.client.post(reverse("photos:uploads"), told, content_type="application/json")

    def ask(self, key):
        return self.client.get(reverse("photos:upload", args=[key]))

    def send(self, key, offset, content):
        return self.client.patch(
            reverse("photos:upload", args=[key]),
            content,
            content_type="application/offset+octet-stream",
            headers={"Upload-Offset": str(offset)},
        )

    def send_all(self, told, content):
        assert self.announce(told).status_code == 200
        for offset in range(0, len(content), PIECE):
            answer = self.send(told["key"], offset, content[offset : offset + PIECE])
            assert answer.status_code == 200, answer.json()
        return answer.json()


def test_a_photo_sent_in_pieces_is_stored_once_with_what_was_said_of_it(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)

    first = phone.announce(told).json()
    last = phone.send_all(told, content)

    photo = Photo.objects.get()
    assert first == {"key": told["key"], "offset": 0, "state": "receiving", "message": "", "photo": None}
    assert last == {
        "key": told["key"],
        "offset": len(content),
        "state": "ready",
        "message": "",
        "photo": photo.pk,
    }
    assert (str(photo.key), photo.by, photo.job) == (told["key"], installer, made)
    assert photo.taken_at == datetime.datetime(2026, 6, 1, 15, 30, tzinfo=datetime.UTC)
    assert photo.source_sha256 == told["sha256"]
    said = photo.said
    assert (said.caption, said.about_kind, said.about_ref) == ("Corner", About.STEP, "waterproofing")
    assert hashlib.sha256(storing.read(photo.sha256)).hexdigest() == photo.sha256
    assert not UploadPiece.objects.exists()
    assert not list(Path(default_storage.path(storing.UPLOADS)).rglob("*"))


def test_what_is_repeated_after_a_lost_answer_changes_nothing(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    phone.send(told["key"], 0, content[:PIECE])

    again = phone.send(told["key"], 0, content[:PIECE])

    assert (again.status_code, again.json()["offset"]) == (409, PIECE)
    assert again.headers["Upload-Offset"] == str(PIECE)
    assert phone.ask(told["key"]).json()["offset"] == PIECE
    assert phone.announce(told).json()["offset"] == PIECE
    assert phone.send(told["key"], PIECE, content[PIECE:]).json()["state"] == "ready"
    for _time in range(2):
        assert phone.send(told["key"], len(content), b"").json()["state"] == "ready"
        assert phone.announce(told).json()["state"] == "ready"
    assert Photo.objects.count() == 1


def test_a_piece_from_elsewhere_is_answered_with_the_right_place(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)

    ahead = phone.send(told["key"], 100, content[100:200])

    assert (ahead.status_code, ahead.json()["offset"]) == (409, 0)
    assert not UploadPiece.objects.exists()


def test_more_bytes_than_were_announced_are_refused(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)

    answer = phone.send(told["key"], 0, content + b"more")

    assert answer.status_code == 400
    assert answer.json()["offset"] == 0
    assert "were announced" in answer.json()["message"]


def test_a_server_killed_after_a_piece_was_stored_loses_that_piece_and_nothing_else(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    phone.send(told["key"], 0, content[:PIECE])
    # Killed between the bytes and the row: a file that nothing names.
    storing.put_piece(uuid.UUID(told["key"]), PIECE, content[PIECE : 2 * PIECE])

    assert phone.ask(told["key"]).json()["offset"] == PIECE
    assert phone.send(told["key"], PIECE, content[PIECE:]).json()["state"] == "ready"
    assert not list(Path(default_storage.path(storing.UPLOADS)).rglob("*"))


@pytest.mark.parametrize("again", ["announce", "send", "sweep"])
def test_a_server_killed_while_decoding_has_it_finished_once_later(phone, installer, monkeypatch, again):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    with monkeypatch.context() as killed:
        killed.setattr(uploads, "_make", lambda *args: None)
        stopped = phone.send(told["key"], 0, content).json()
    assert (stopped["state"], stopped["offset"]) == ("receiving", len(content))

    if again == "announce":
        assert phone.announce(told).json()["state"] == "ready"
    elif again == "send":
        assert phone.send(told["key"], len(content), b"").json()["state"] == "ready"
    else:
        assert uploads.uploads_sweep() == (0, 0)
        with time_machine.travel(timezone.now() + 2 * uploads.AT_WORK):
            assert uploads.uploads_sweep() == (1, 0)
            assert uploads.uploads_sweep() == (0, 0)
    assert Photo.objects.count() == 1
    assert PhotoUpload.objects.get().photo == Photo.objects.get()


def test_killed_between_the_photo_and_the_end_of_its_upload_there_is_one_photo(phone, installer, monkeypatch):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    with monkeypatch.context() as killed:
        killed.setattr(uploads, "_end", lambda *args, **values: None)
        phone.send(told["key"], 0, content)
    assert (Photo.objects.count(), PhotoUpload.objects.get().state) == (1, UploadState.RECEIVING)

    answer = phone.announce(told).json()

    assert (answer["state"], answer["photo"]) == ("ready", Photo.objects.get().pk)


def test_spoilt_bytes_are_asked_for_again_and_three_times_wrong_is_refused(phone, installer):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    spoilt = b"\x00" + content[1:]

    once = phone.send(told["key"], 0, spoilt).json()
    assert (once["state"], once["offset"]) == ("receiving", 0)
    assert "spoilt" in once["message"]
    assert phone.send(told["key"], 0, content).json()["state"] == "ready"

    other = announcement(made, content)
    phone.announce(other)
    answers = [phone.send(other["key"], 0, spoilt).json()["state"] for _time in range(uploads.MOST_SPOILT)]
    assert answers == ["receiving", "receiving", "refused"]


def test_a_file_that_is_no_photo_is_refused_with_its_reason(phone, installer):
    made, content = job(crew=(installer,)), b"%PDF-1.7 not a photo"
    told = announcement(made, content)

    answer = phone.send_all(told, content)

    assert (answer["state"], answer["photo"]) == ("refused", None)
    assert answer["message"] == "This is a PDF, whatever it is called: expected JPEG, PNG, HEIC or WebP."
    assert phone.announce(told).json()["state"] == "refused"
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"key": "abc"}, "Expected a UUID made on the phone."),
        ({"size": "12"}, "Expected the number of bytes."),
        ({"size": 0}, "Expected the number of bytes."),
        ({"size": 41_000_000}, "The file has 41 MB; at most 40 MB are taken."),
        ({"sha256": "xyz"}, "Expected the SHA-256 of the bytes as 64 hexadecimal digits."),
        ({"taken_at": "2026-06-01"}, "Expected a moment with its offset, such as 2026-06-01T10:30:00Z."),
        ({"taken_at": "9999-12-31T23:59:59-14:00"}, "Expected a moment of our time."),
        ({"about": {"kind": "cat", "ref": ""}}, "Read “cat”: expected one of job, room"),
        ({"about": "room"}, "Expected an object with kind and ref."),
        ({"about": {"kind": "room", "ref": "x" * 121}}, "at most 120 plain characters"),
    ],
)
def test_an_announcement_that_cannot_be_read_says_what_was_expected(phone, installer, change, said):
    answer = phone.announce(announcement(job(crew=(installer,)), as_file()) | change)

    assert answer.status_code == 400
    assert answer.json()["state"] == "refused"
    assert said in answer.json()["message"]
    assert not PhotoUpload.objects.exists()


@pytest.mark.parametrize("body", ["", "[", "[]", "3", "nan", "{}", "[" * 9000])
def test_a_body_that_is_no_announcement_is_refused(phone, body):
    answer = phone.client.post(reverse("photos:uploads"), body, content_type="application/json")

    assert answer.status_code == 400
    assert answer.json()["message"]


@pytest.mark.parametrize("offset", ["", "x", "-1", "1.5", "99999999999999999999"])
def test_a_piece_without_a_believable_offset_is_refused(phone, installer, offset):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)

    assert phone.send(told["key"], offset, content).status_code in {400, 409}
    assert phone.ask(told["key"]).json()["offset"] == 0


def test_a_key_announced_with_other_bytes_is_refused(phone, installer):
    made = job(crew=(installer,))
    told = announcement(made, as_file())
    phone.announce(told)

    other = phone.announce(announcement(made, as_file(scene(seed=2)), key=told["key"]))

    assert other.status_code == 400
    assert "Another photo was announced" in other.json()["message"]


def test_somebody_elses_upload_and_job_are_not_there(
    client, phone, installer, other_installer, office_manager
):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)

    client.force_login(other_installer)
    assert phone.announce(told).status_code == 404
    assert phone.ask(told["key"]).status_code == 404
    assert phone.send(told["key"], 0, content).status_code == 404
    # The office sees every job, and still not what somebody else is sending.
    client.force_login(office_manager)
    assert phone.ask(told["key"]).status_code == 404
    assert phone.announce(told).status_code == 400


@pytest.mark.parametrize("number", [None, "", "x", -1, 0, 2**70, [], {}])
def test_a_job_that_cannot_be_is_not_there(phone, installer, number):
    told = announcement(job(crew=(installer,)), as_file(), job=number)

    assert phone.announce(told).status_code == 404


def test_without_the_token_of_the_page_nothing_is_taken(installer):
    from django.test import Client

    strict = Phone(Client(enforce_csrf_checks=True))
    strict.client.force_login(installer)
    made = job(crew=(installer,))

    assert strict.announce(announcement(made, as_file())).status_code == 403
    assert strict.send(uuid.uuid4(), 0, b"x").status_code == 403


def test_an_upload_that_nobody_goes_on_with_is_forgotten_after_some_days(phone, installer, settings):
    made, content = job(crew=(installer,)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    phone.send(told["key"], 0, content[:PIECE])

    with time_machine.travel(timezone.now() + datetime.timedelta(days=settings.PHOTO_UPLOAD_DAYS - 1)):
        assert uploads.uploads_sweep() == (0, 0)
    with time_machine.travel(timezone.now() + datetime.timedelta(days=settings.PHOTO_UPLOAD_DAYS + 1)):
        assert uploads.uploads_sweep() == (0, 1)

    assert not PhotoUpload.objects.exists()
    assert not list(Path(default_storage.path(storing.UPLOADS)).rglob("*"))
    # The phone, which still has the photo, begins again.
    assert phone.ask(told["key"]).status_code == 404
    assert phone.send_all(told, content)["state"] == "ready"


def test_a_moment_in_the_future_is_now(phone, installer):
    content = as_file()
    told = announcement(job(crew=(installer,)), content, taken_at="2099-01-01T00:00:00Z")

    phone.send_all(told, content)

    photo = Photo.objects.get()
    assert photo.taken_at <= photo.at


def test_a_phone_that_says_the_year_1_does_not_stand_in_the_way_of_the_gallery(phone, installer):
    """Where the site is that moment lies before the calendar begins."""
    made, content = job(crew=(installer,)), as_file()

    phone.send_all(announcement(made, content, taken_at="0001-01-01T00:00:00Z"), content)

    photo = Photo.objects.get()
    assert photo.taken_at == photo.at
    for way in ("day", "room", "step"):
        assert phone.client.get(reverse("photos:gallery", args=[made.pk]), {"by": way}).status_code == 200
    assert phone.client.get(photo.get_absolute_url()).status_code == 200


def test_an_upload_is_nobody_else_s_on_the_same_crew(phone, client, installer, other_installer):
    made, content = job(crew=(installer, other_installer)), as_file()
    told = announcement(made, content)
    phone.announce(told)
    client.force_login(other_installer)

    assert phone.announce(told).status_code == 400
    assert phone.ask(told["key"]).status_code == 404
    assert phone.send(told["key"], 0, content).status_code == 404
    assert PhotoUpload.objects.get().offset == 0
