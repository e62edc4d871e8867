"""Photos in an S3-compatible store: set by environment variables alone, handed out by us.

No store is asked: the calls that boto3 would make are answered from a dict, as the S3 API's reference has
them (PutObject, GetObject, HeadObject, DeleteObject, ListObjectsV2).
"""

import hashlib
import io
import os
import subprocess
import sys

import botocore.client
import pytest
from botocore.exceptions import ClientError
from botocore.response import StreamingBody
from django.core.files.storage import default_storage, storages
from django.urls import reverse

from jobs.photos import storing
from jobs.photos.models import Photo

from .factories import announcement, as_file, job, photo, scene

pytestmark = pytest.mark.django_db
OPTIONS = {
    "bucket_name": "invented",
    "endpoint_url": "https://store.example",
    "region_name": "nowhere-1",
    "access_key": "AK",
    "secret_key": "SK",
    "location": "ledger",
    "file_overwrite": False,
    "default_acl": None,
    "querystring_expire": 300,
}


@pytest.fixture
def bucket(settings, monkeypatch):
    """A bucket as a dict: what is stored, and which calls were made."""
    held: dict[str, bytes] = {}
    calls: list[str] = []

    def answer(self, operation, given):
        calls.append(operation)
        name = given.get("Key", "")
        if operation == "PutObject":
            body = given["Body"]
            held[name] = body if isinstance(body, bytes) else body.read()
            return {"ETag": '"x"'}
        if operation in {"HeadObject", "GetObject"}:
            if name not in held:
                code = "404" if operation == "HeadObject" else "NoSuchKey"
                error = {"Error": {"Code": code}, "ResponseMetadata": {"HTTPStatusCode": 404}}
                raise ClientError(error, operation)
            told = {"ContentLength": len(held[name]), "ETag": '"x"', "Metadata": {}}
            body = StreamingBody(io.BytesIO(held[name]), len(held[name]))
            return told if operation == "HeadObject" else told | {"Body": body}
        if operation == "DeleteObject":
            held.pop(name, None)
            return {}
        if operation in {"ListObjectsV2", "ListObjects"}:
            found = [key for key in sorted(held) if key.startswith(given["Prefix"])]
            return {"Contents": [{"Key": key} for key in found], "IsTruncated": False}
        raise AssertionError(operation)

    monkeypatch.setattr(botocore.client.BaseClient, "_make_api_call", answer)
    settings.STORAGES = settings.STORAGES | {
        "default": {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": OPTIONS}
    }
    held_calls = type("Bucket", (), {"held": held, "calls": calls})
    assert type(storages["default"]).__name__ == "S3Storage"
    return held_calls


def test_an_upload_in_pieces_ends_as_three_files_named_by_their_bytes(client, installer, bucket):
    client.force_login(installer)
    content = as_file()
    told = announcement(job(crew=(installer,)), content)
    client.post(reverse("photos:uploads"), told, content_type="application/json")
    for at in range(0, len(content), 16_384):
        answer = client.patch(
            reverse("photos:upload", args=[told["key"]]),
            content[at : at + 16_384],
            content_type="application/octet-stream",
            headers={"Upload-Offset": str(at)},
        )

    assert answer.json()["state"] == "ready"
    taken = Photo.objects.get()
    hashes = (taken.sha256, taken.paper_sha256, taken.small_sha256)
    assert sorted(bucket.held) == sorted(f"ledger/photos/{one[:2]}/{one}.jpg" for one in hashes)
    for one in hashes:
        assert hashlib.sha256(bucket.held[f"ledger/{storing.name_of(one)}"]).hexdigest() == one


def test_a_picture_passes_through_us_and_its_reader_learns_no_address_of_the_store(
    client, installer, other_installer, bucket
):
    taken = photo(job(crew=(installer,)), installer)
    address = reverse("photos:file", args=[taken.pk])
    client.force_login(installer)

    answer = client.get(address)

    assert hashlib.sha256(b"".join(answer.streaming_content)).hexdigest() == taken.sha256
    assert "store.example" not in str(answer.headers)
    bucket.calls.clear()
    client.force_login(other_installer)
    assert client.get(address).status_code == 404
    assert bucket.calls == []


def test_a_picture_missing_there_is_a_404_and_is_known_as_spoilt(client, installer, bucket):
    taken = photo(job(crew=(installer,)), installer)
    bucket.held.clear()
    client.force_login(installer)

    assert client.get(reverse("photos:file", args=[taken.pk])).status_code == 404
    with pytest.raises(storing.FileSpoilt):
        storing.read(taken.sha256)


def test_equal_pictures_are_stored_once_and_a_half_written_one_is_written_anew(bucket):
    content = as_file(scene(64, 48))
    first = storing.put(content)
    bucket.calls.clear()
    assert storing.put(content) == first
    assert "PutObject" not in bucket.calls

    bucket.held[f"ledger/{storing.name_of(first)}"] = content[:100]
    storing.put(content)
    assert storing.read(first) == content


def test_on_disk_too_a_half_written_picture_is_written_anew():
    content = as_file(scene(64, 48))
    first = storing.put(content)
    default_storage.delete(storing.name_of(first))
    with default_storage.open(storing.name_of(first), "wb") as half:
        half.write(content[:100])

    assert storing.put(content) == first
    assert storing.read(first) == content


def test_environment_variables_alone_choose_the_store():
    ask = (
        "import django; django.setup();"
        "from django.core.files.storage import storages; s = storages['default'];"
        "print(type(s).__name__);"
        "print(s.bucket_name, s.endpoint_url, s.location, s.querystring_auth, s.default_acl)"
    )
    told = {"S3_BUCKET": "b", "S3_ENDPOINT": "https://e.example", "S3_FOLDER": "f", "S3_ACCESS_KEY": "k"}
    env = {**os.environ, **told, "S3_SECRET_KEY": "s"}

    ran = subprocess.run([sys.executable, "-c", ask], env=env, capture_output=True, text=True, check=True)

    # Addresses that the store itself would hand out are signed, and nothing is public.
    assert ran.stdout.split() == ["S3Storage", "b", "https://e.example", "f", "True", "None"]
