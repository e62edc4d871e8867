"""The public page: what it says, to whom, and what it never shows."""

import io

import pytest
from asn1crypto import cms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from pyhanko.pdf_utils.generic import NumberObject
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from jobs.warranty import examiner, keys, public_views, services, signing, throttle, verification
from jobs.warranty.models import WarrantyRecord
from jobs.warranty.verification import Verdict

from .factories import issued

pytestmark = pytest.mark.django_db
PAGE = "/verify/"


@pytest.fixture(autouse=True)
def _a_new_minute():
    from django.core.cache import cache

    cache.clear()


def upload(client, content, name="record.pdf"):
    return client.post(PAGE, {"pdf": SimpleUploadedFile(name, content, "application/pdf")})


def rotated(pdf):
    """The same file with an incremental update that turns a page."""
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    page["/Rotate"] = NumberObject(90)
    writer.update_container(page)
    appended = io.BytesIO()
    writer.write(appended)
    return appended.getvalue()


# --- By the file ------------------------------------------------------------------------------------------


def test_a_record_as_it_was_issued_is_genuine(client, printed):
    record = issued()

    answer = upload(client, printed(record))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Genuine" in page
    assert record.number in page
    assert "Quarry Lane Tile" in page


def test_a_changed_byte_is_changed(client, printed):
    changed = bytearray(printed(issued()))
    changed[3000] ^= 1

    page = upload(client, bytes(changed)).content.decode()

    assert ">Changed<" in page
    assert "Genuine" not in page


def test_a_byte_of_the_signature_that_it_does_not_cover_is_changed_too(printed):
    """The version in the envelope of CMS (RFC 5652, 5.1) is signed by nobody: the signature stays valid."""
    pdf = printed(issued())
    place = pdf.index(b"/Contents <") + len(b"/Contents <")
    end = pdf.index(b">", place)
    signed = cms.ContentInfo.load(bytes.fromhex(pdf[place:end].decode()))
    assert signed["content"]["version"].native == "v1"
    # A sequence within: the version stands behind the heads of both and the identifier of the kind.
    at = bytes.fromhex(pdf[place:end].decode()).index(signed["content"]["version"].dump())
    other = bytearray.fromhex(pdf[place:end].decode())
    other[at + 2] = 3
    changed = pdf[:place] + other.hex().upper().encode() + pdf[end:]
    assert len(changed) == len(pdf)
    assert signing.examine(changed, keys.certificate_files()).is_whole

    assert verification.verify_file(pdf).verdict is Verdict.GENUINE
    assert verification.verify_file(changed).verdict is Verdict.CHANGED


def test_something_appended_is_changed(client, printed):
    record = issued()

    answer = upload(client, rotated(printed(record)))

    assert answer.context["answer"].verdict is Verdict.CHANGED
    assert answer.context["answer"].number == record.number


def test_a_record_that_was_replaced_says_by_which(client, printed, office_manager):
    old = issued()
    pdf = printed(old)
    new = services.record_replace(
        record=old, reason="The lot of the membrane was wrong.", by=office_manager, at=timezone.now()
    )

    page = upload(client, pdf).content.decode()

    assert "Genuine, but replaced" in page
    assert new.number in page


def test_a_file_of_ours_whose_record_is_gone_is_told(printed, monkeypatch):
    pdf = printed(issued())
    monkeypatch.setattr(verification, "_record", lambda **wanted: None)

    assert verification.verify_file(pdf).verdict is Verdict.MISSING


def test_another_pdf_is_unknown(client, key):
    answer = upload(client, b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF")

    assert answer.context["answer"].verdict is Verdict.UNKNOWN


def test_a_forged_record_with_a_real_code_is_not_genuine(printed, settings, tmp_path):
    """Somebody has a record's data, lays out pages of their own and signs them with their own key."""
    from contracting.documents.rendering import render

    record = issued()
    pdf = printed(record)
    assert verification.verify_file(pdf).verdict is Verdict.GENUINE
    forged = {**record.snapshot, "warranty": {**record.snapshot["warranty"], "years": 50}}
    ours, settings.SIGNING_KEY_DIR = settings.SIGNING_KEY_DIR, tmp_path / "theirs"
    theirs = render("warranty-record", forged).pdf
    settings.SIGNING_KEY_DIR = ours

    answer = verification.verify_file(theirs)

    assert answer.verdict is Verdict.CHANGED


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"GIF89a, and more of it", "is not a PDF"),
        (b"<html>%PDF-</html>", "is not a PDF"),
        (b"", "empty"),
    ],
)
def test_what_is_no_pdf_is_refused_in_words(client, content, sentence):
    answer = upload(client, content, "record.pdf")

    assert answer.status_code == 200
    assert sentence in answer.content.decode()


def test_nothing_sent_is_told_in_place(client):
    assert "Choose the PDF of the record." in client.post(PAGE).content.decode()


def test_a_file_that_is_too_large_is_refused_before_it_is_read(client, monkeypatch):
    monkeypatch.setattr(verification, "LARGEST_FILE", 1000)
    monkeypatch.setattr(verification, "verify_file", lambda pdf: pytest.fail("it was read"))

    answer = upload(client, b"%PDF-" + b"x" * 20_000)

    assert answer.status_code == 413
    assert "larger than" in answer.content.decode()


def test_too_many_files_in_a_minute_are_told_to_wait(client, monkeypatch):
    monkeypatch.setattr(verification, "verify_file", lambda pdf: verification.Answer(Verdict.UNKNOWN))
    for _number in range(throttle.UPLOADS_A_MINUTE):
        assert upload(client, b"%PDF-").status_code == 200

    answer = upload(client, b"%PDF-")

    assert answer.status_code == 429
    assert answer.headers["Retry-After"] == "60"
    assert client.post(PAGE, REMOTE_ADDR="10.9.9.9").status_code == 200


def test_behind_a_proxy_the_senders_are_told_apart(rf, settings):
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

    request = rf.get(PAGE, HTTP_X_FORWARDED_FOR="1.2.3.4, 5.6.7.8", REMOTE_ADDR="127.0.0.1")

    assert throttle.sender_of(request) == "5.6.7.8"


def test_when_nobody_has_time_it_says_so(client, monkeypatch):
    def busy(pdf):
        raise examiner.BusyError

    monkeypatch.setattr(public_views.verification, "verify_file", busy)

    assert upload(client, b"%PDF-").status_code == 503


# --- A process of its own ---------------------------------------------------------------------------------


def test_a_file_is_examined_in_a_process_without_secrets(printed, settings, monkeypatch):
    pdf = printed(issued())
    seen = {}
    run = examiner.subprocess.run

    def spied(*args, **kwargs):
        seen.update(kwargs)
        return run(*args, **kwargs)

    monkeypatch.setattr(examiner.subprocess, "run", spied)

    found = examiner.examine_apart(pdf, keys.certificate_files(), code_folder=settings.BASE_DIR)

    assert found == signing.examine(pdf, keys.certificate_files())
    assert found.is_whole
    assert set(seen["env"]) <= {"PATH"}


def test_a_process_that_takes_too_long_leaves_the_file_unreadable(settings, monkeypatch, key):
    monkeypatch.setattr(examiner, "SECONDS", 0.01)

    found = examiner.examine_apart(b"%PDF-1.7", keys.certificate_files(), code_folder=settings.BASE_DIR)

    assert found == signing.Examined()


def test_a_file_that_unpacks_into_gigabytes_is_stopped(settings, key):
    """A stream of 2 GB of zeros, packed twice into a few KB, as the list of objects."""
    import zlib

    packer = zlib.compressobj(9)
    begin, part = (packer.compress(bytes(10_000_000)) + packer.flush(zlib.Z_FULL_FLUSH) for _part in range(2))
    packed = zlib.compress(begin + part * 199, 9)
    bomb = (
        b"%PDF-1.7\n1 0 obj\n<</Type/XRef/Size 9/W[1 2 1]/Filter[/FlateDecode/FlateDecode]/Length "
        + str(len(packed)).encode()
        + b">>\nstream\n"
        + packed
        + b"\nendstream\nendobj\nstartxref\n9\n%%EOF\n"
    )

    found = examiner.examine_apart(bomb, keys.certificate_files(), code_folder=settings.BASE_DIR)

    assert not found.is_whole
    assert not found.is_ours


# --- By the code ------------------------------------------------------------------------------------------


def test_a_code_is_found_however_it_is_written(client):
    record = issued()
    groups = "-".join(record.code[at : at + 4] for at in range(0, 20, 4))

    for written in (record.code, groups, groups.lower(), f"  {groups.replace('-', ' ')} "):
        answer = client.get(PAGE, {"code": written})
        assert answer.context["answer"].number == record.number
        assert "A record with this code was issued" in answer.content.decode()


@pytest.mark.parametrize("code", ["ABCD", "W-1001", "'; DROP TABLE", "🙂" * 30, "A" * 500])
def test_a_code_that_does_not_exist_is_unknown(client, code):
    issued()

    answer = client.get(PAGE, {"code": code})

    assert answer.context["answer"].verdict is Verdict.UNKNOWN
    assert "No record has this code" in answer.content.decode()


def test_an_empty_code_asks_nothing(client):
    assert client.get(PAGE, {"code": "  "}).context["answer"] is None


def test_nothing_private_is_shown(client, printed):
    record = issued()
    pages = [
        client.get(PAGE, {"code": record.code}).content.decode(),
        upload(client, printed(record)).content.decode(),
    ]

    site, told = record.job.site, "".join(pages)
    for private in ("Marigold", "Ferry", site.street, record.job.title, str(record.issued_by), "987", "Ivo"):
        assert private not in told


def test_the_page_keeps_nothing_and_sets_no_cookie_of_a_session(client, django_assert_num_queries):
    record = issued()

    with django_assert_num_queries(1):
        answer = client.get(PAGE, {"code": record.code})

    assert "sessionid" not in answer.cookies
    assert "no-store" in answer.headers["Cache-Control"]
    assert WarrantyRecord.objects.count() == 1


def test_the_address_on_paper_is_the_pages(client, office_manager):
    assert reverse("warranty:verify") == PAGE
