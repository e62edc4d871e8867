"""The paper: archival, tagged, with its data inside, and signed so that any changed byte shows.

pdfsig and pdfdetach (poppler-utils) look at the same file from outside, and pypdf reads what ISO 19005-3 and
ISO 14289-1 ask of it. No validator of PDF/A is in the registries this project is built from.
"""

import io
import json
import random
import re
import shutil
import subprocess

import pdfua
import pypdf
import pytest
from django.core.files.storage import default_storage
from django.utils import timezone
from pyhanko.pdf_utils.generic import NumberObject
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from contracting.documents import registry
from contracting.documents.rendering import render
from contracting.documents.services import canonical_json
from contracting.documents.tasks import render_document
from jobs.warranty import journal, keys, services, signing
from tests.jobs.inspections.factories import shower

from .factories import deliver, inspected_job, issued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("pango")]


@pytest.fixture
def record(request, office_manager):
    job = inspected_job(is_measured=getattr(request, "param", False))
    deliver(job, "m1", "LOT 4471-B", office_manager, 2)
    return services.record_issue(job=job, by=office_manager, at=timezone.now())


@pytest.fixture
def pdf(printed, record):
    return printed(record)


def examined(pdf):
    return signing.examine(pdf, keys.certificate_files())


@pytest.fixture(scope="module")
def poppler(tmp_path_factory):
    for tool in ("pdfsig", "pdfdetach", "pdftotext"):
        if shutil.which(tool) is None:
            pytest.skip("poppler-utils is not installed.")
    folder = tmp_path_factory.mktemp("poppler")

    def run(pdf, tool, *arguments):
        (folder / "record.pdf").write_bytes(pdf)
        return subprocess.run([tool, *arguments], cwd=folder, capture_output=True, check=False)

    run.folder = folder
    return run


# --- The signature ----------------------------------------------------------------------------------------


def test_a_record_is_signed_by_the_company_over_every_byte(pdf, record):
    found = examined(pdf)

    assert found.is_whole
    assert found.is_ours
    assert (found.number, found.code) == (record.number, record.code)
    assert found.content_sha256 == record.sha256


def test_a_program_that_is_not_ours_agrees_that_the_signature_is_valid(pdf, poppler):
    told = poppler(pdf, "pdfsig", "record.pdf").stdout.decode()

    assert "Signature is Valid" in told
    assert "Total document signed" in told
    assert "ETSI.CAdES.detached" in told
    assert "Quarry Lane Tile" in told


def test_one_flipped_bit_anywhere_fails(pdf):
    """At places drawn by a fixed seed, and in the first and the last byte."""
    hole = pdf.index(b"/Contents <") + len(b"/Contents <")
    end = pdf.index(b">", hole)
    drawn = random.Random(20261125)
    places = [
        *drawn.sample(range(len(pdf)), 24),
        *drawn.sample(range(hole, end), 12),
        0,
        end - 1,
        len(pdf) - 1,
    ]

    for place in places:
        changed = bytearray(pdf)
        changed[place] ^= 1
        assert not examined(bytes(changed)).is_whole, place


def test_the_outside_program_sees_a_changed_byte_too(pdf, poppler):
    changed = bytearray(pdf)
    changed[2000] ^= 1

    assert "Signature is Valid" not in poppler(bytes(changed), "pdfsig", "record.pdf").stdout.decode()


def test_what_is_appended_fails_although_the_signed_bytes_are_intact(pdf):
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    page["/Rotate"] = NumberObject(90)
    writer.update_container(page)
    appended = io.BytesIO()
    writer.write(appended)
    assert appended.getvalue().startswith(pdf)

    found = examined(appended.getvalue())

    assert found.is_ours
    assert not found.is_whole


@pytest.mark.parametrize("more", [b"\n", b"%%EOF\n", b"\x00" * 100], ids=["a line", "an end", "zeros"])
def test_bytes_behind_the_end_fail(pdf, more):
    assert not examined(pdf + more).is_whole


def test_a_signature_of_somebody_else_is_not_ours(pdf, record, settings, tmp_path):
    ours = keys.certificate_files()
    settings.SIGNING_KEY_DIR = tmp_path / "theirs"
    their_key, _new = keys.key_make(company="Quarry Lane Tile")
    forged = signing.sign(unsigned(record), their_key, reason="x", place="")

    found = signing.examine(forged, ours)

    assert not found.is_whole
    assert not found.is_ours
    assert found.number == record.number


@pytest.mark.parametrize(
    "junk", [b"", b"%PDF-", b"%PDF-1.7\n" + b"\x00" * 5000, b"[" * 100_000, b"%PDF-1.7\nstartxref\n0\n%%EOF"]
)
def test_junk_is_unreadable_and_no_more(key, junk):
    assert examined(junk) == signing.Examined()


# --- The bytes --------------------------------------------------------------------------------------------


def unsigned(record):
    """The pages before they are signed."""
    known = registry.renderer("warranty-record")
    bare = {"finish": lambda pdf, snapshot: pdf}
    registry._renderers["warranty-record"] = registry.Renderer(**{**vars(known), **bare})
    try:
        return render("warranty-record", record.snapshot).pdf
    finally:
        registry._renderers["warranty-record"] = known


@pytest.mark.parametrize("record", [True], indirect=True, ids=["a whole shower"])
def test_the_same_record_gives_the_same_bytes_up_to_the_signature(pdf, record):
    first, second = unsigned(record), unsigned(record)

    assert first == second
    # The signature is appended: what was rendered stands before it, byte for byte.
    assert pdf.startswith(first)


def test_the_data_inside_is_the_record(pdf, record, poppler):
    [content] = pypdf.PdfReader(io.BytesIO(pdf)).attachments["warranty-record.json"]

    assert content.decode() == canonical_json(record.snapshot)
    assert json.loads(content) == record.snapshot
    assert b"warranty-record.json" in poppler(pdf, "pdfdetach", "-list", "record.pdf").stdout
    poppler(pdf, "pdfdetach", "-save", "1", "-o", "out.json", "record.pdf")
    assert (poppler.folder / "out.json").read_bytes() == content


@pytest.mark.parametrize("record", [True], indirect=True, ids=["a whole shower"])
def test_what_iso_19005_3_asks_for_stands_in_the_file(pdf):
    """Part 3 level A by its clauses (numbers from memory): 6.6.4 identification, 6.2.3 output intent, 6.8
    associated files, 6.7 tags and language, 6.3.2 annotations, 6.1.3 file identifier, 6.2.11.4 fonts."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]

    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part[>=\"']+3", xmp)
    assert re.search(r"pdfaid:conformance[>=\"']+A", xmp)
    [intent] = root["/OutputIntents"]
    assert intent.get_object()["/S"] == "/GTS_PDFA1"
    assert intent.get_object()["/DestOutputProfile"].get_object()["/N"] == 3
    associated = root["/AF"][0]
    assert {one.idnum for one in root["/AF"]} == {associated.idnum}
    assert associated.get_object()["/AFRelationship"] == "/Data"
    embedded = associated.get_object()["/EF"]["/F"].get_object()
    assert embedded["/Subtype"] == "/application/json"
    assert "/ModDate" in embedded["/Params"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]["/K"]
    assert root["/Lang"].startswith("en")
    assert len(reader.trailer["/ID"]) == 2
    for page in reader.pages:
        for one in page.get("/Annots", ()):
            # Printed, not hidden and not invisible.
            assert one.get_object()["/F"] & 0b100111 == 0b100
    assert all(_is_embedded(font) for page in reader.pages for font in page["/Resources"]["/Font"].values())
    assert b"/JavaScript" not in pdf
    assert not reader.is_encrypted


@pytest.mark.parametrize("record", [True], indirect=True, ids=["a whole shower"])
def test_the_tags_pass_the_machine_checkable_rules(pdf, tmp_path):
    """pdfua, a checker from PyPI, looks for what of ISO 14289-1 a machine can see: no finding is an error."""
    (tmp_path / "record.pdf").write_bytes(pdf)

    report = pdfua.validate(tmp_path / "record.pdf")

    assert not [one for one in report.findings if one.severity.name == "ERROR"]


def _is_embedded(font):
    [inner] = font.get_object()["/DescendantFonts"]
    return any(name.startswith("/FontFile") for name in inner.get_object()["/FontDescriptor"])


@pytest.mark.parametrize("record", [True], indirect=True, ids=["a whole shower"])
def test_the_pages_say_what_the_record_says(pdf, record, poppler):
    text = poppler(pdf, "pdftotext", "-layout", "record.pdf", "-").stdout.decode()

    for words in (
        f"Warranty record {record.number}",
        "Marigold Ferry",
        "2 years of warranty",
        "LOT 4471-B",
        "Flood tests",
        "steel rule",
        "24 of 24 checks passed",
        "People and dates",
        "29 CFR 1926.1153",
        record.sha256[:40],
        "-".join(re.findall("....", record.code)),
    ):
        assert words in text, words
    assert "$" not in text


def test_a_record_with_many_checks_is_quick(printed, office_manager):
    """Twelve rooms: 277 checks. Seconds depend on the machine, so the bound is a wide one."""
    rooms = [shower(f"room-{n}", f"Bath {n}") for n in range(12)]
    job = inspected_job(*rooms)
    made = services.record_issue(job=job, by=office_manager, at=timezone.now())
    begun = timezone.now()

    pdf = printed(made)

    assert len(made.snapshot["readings"]) > 250
    assert examined(pdf).is_whole
    assert (timezone.now() - begun).total_seconds() < 30


# --- The worker and its key -------------------------------------------------------------------------------


def test_what_was_signed_is_noted_beside_the_key(pdf, record):
    assert journal.lines() == [journal.Line(record.number, record.sequence, record.sha256)]


def test_rendering_twice_makes_one_file_and_one_line(pdf, record):
    render_document(record.document_id)

    assert default_storage.listdir(f"documents/{record.document_id}")[1] == ["1.pdf"]
    assert len(journal.lines()) == 1


def test_without_a_key_the_paper_says_what_to_do_and_can_be_tried_again(settings, record):
    settings.DEMO = False

    render_document(record.document_id)

    record.document.refresh_from_db()
    assert record.document.is_failed
    assert "make_signing_key" in record.document.error


def test_a_paper_signed_before_the_key_was_rotated_is_still_whole(pdf, printed, key):
    new, _new = keys.key_make(company="Quarry Lane Tile", rotate=True)
    later = printed(issued(4002))

    assert not key.key_file.exists()
    assert new.fingerprint != key.fingerprint
    assert examined(pdf).is_whole
    assert examined(later).is_whole
