"""Many at once, on SQLite and PostgreSQL: each piece counted once, each photo stored once."""

import hashlib
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from jobs.photos import services, storing, uploads
from jobs.photos.models import Description, Photo, PhotoUpload, UploadPiece, UploadState, Withdrawal

from .factories import announcement, as_file, job, photo, scene

pytestmark = pytest.mark.django_db(transaction=True)
CALLERS = 8


def at_once(act):
    def one(number):
        try:
            return act(number)
        except (ValidationError, uploads.WrongOffset) as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(CALLERS) as callers:
        return list(callers.map(one, range(CALLERS)))


def test_one_announcement_sent_many_times_at_once_is_one_upload(installer):
    content = as_file(scene(64, 48))
    made = job(crew=(installer,))
    told = uploads.announced(announcement(made, content))

    found = at_once(lambda n: uploads.upload_start(told=told, job=made, by=installer))

    assert len({one.pk for one in found}) == 1
    assert PhotoUpload.objects.count() == 1


def test_one_piece_sent_many_times_at_once_is_counted_once(installer):
    content = as_file(scene(320, 240))
    made, half = job(crew=(installer,)), len(content) // 2
    told = uploads.announced(announcement(made, content))
    start = uploads.upload_start(told=told, job=made, by=installer)

    def send(_number):
        return uploads.upload_append(
            upload=PhotoUpload.objects.get(pk=start.pk), offset=0, content=content[:half]
        )

    found = at_once(send)

    assert sum(isinstance(one, PhotoUpload) for one in found) == 1
    assert [(one.offset, one.length) for one in UploadPiece.objects.all()] == [(0, half)]
    last = uploads.upload_append(upload=PhotoUpload.objects.get(), offset=half, content=content[half:])
    assert (last.state, Photo.objects.get().source_sha256) == (
        UploadState.READY, hashlib.sha256(content).hexdigest()
    )  # fmt: skip


def test_pieces_of_different_lengths_at_the_same_place_do_not_mix(installer):
    content = as_file(scene(320, 240))
    made = job(crew=(installer,))
    told = uploads.announced(announcement(made, content))
    start = uploads.upload_start(told=told, job=made, by=installer)

    def send(number):
        """A phone that never hears its answers: it asks where it stands and goes on from there."""
        while True:
            now = PhotoUpload.objects.select_related("job__site", "by").get(pk=start.pk)
            if now.state != UploadState.RECEIVING:
                return now
            end = now.offset + 1_000 * (number + 1)
            try:
                uploads.upload_append(upload=now, offset=now.offset, content=content[now.offset : end])
            except uploads.WrongOffset:
                continue

    found = at_once(send)

    assert {one.state for one in found} == {UploadState.READY}
    assert Photo.objects.count() == 1
    assert Photo.objects.get().source_sha256 == hashlib.sha256(content).hexdigest()


def test_the_last_piece_decoded_by_many_at_once_makes_one_photo(installer, monkeypatch):
    content = as_file(scene(320, 240))
    made = job(crew=(installer,))
    told = uploads.announced(announcement(made, content))
    start = uploads.upload_start(told=told, job=made, by=installer)
    with monkeypatch.context() as killed:
        killed.setattr(uploads, "_make", lambda *args: None)
        uploads.upload_append(upload=start, offset=0, content=content)

    found = at_once(
        lambda n: uploads.upload_append(
            upload=PhotoUpload.objects.select_related("job__site", "by").get(pk=start.pk),
            offset=len(content),
            content=b"",
        )
    )

    assert {one.state for one in found} == {UploadState.READY}
    assert Photo.objects.count() == Description.objects.count() == 1
    assert storing.read(Photo.objects.get().sha256)


def test_one_photo_sent_by_many_forms_at_once_is_one(installer):
    made, key, content = job(crew=(installer,)), uuid.uuid4(), as_file(scene(64, 48))

    found = at_once(
        lambda n: services.photo_take(key=key, job=made, by=installer, content=content, said=services.Said())
    )

    assert len({one.pk for one in found}) == 1
    assert Photo.objects.count() == 1


def test_of_many_descriptions_at_once_one_holds(installer):
    old = photo(job(crew=(installer,)), installer).said

    found = at_once(
        lambda n: services.photo_describe(
            key=uuid.uuid4(), old=old, said=services.Said(f"word {n}"), by=installer
        )
    )

    assert sum(isinstance(one, Description) for one in found) == 1
    assert Description.objects.filter(superseded_by=None).count() == 1


def test_withdrawn_by_many_at_once_it_is_withdrawn_once(installer, office_manager):
    taken = photo(job(crew=(installer,)), installer)

    at_once(lambda n: services.photo_withdraw(photo=taken, reason=f"Reason {n}", by=office_manager))

    assert Withdrawal.objects.count() == 1
