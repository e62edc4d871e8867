"""The pages: same bytes for the same snapshot, tagged, named, and nothing fetched from outside.

The PDF is read back with pypdf, a library that has no part in making it.
"""

import builtins
import io
import subprocess
import sys
import time

import pytest
from pypdf import PdfReader

from contracting.documents import rendering
from contracting.documents.checks import pango_is_installed
from contracting.documents.errors import DocumentError, LibraryMissing

from .conftest import SNAPSHOT


def read(pdf):
    return PdfReader(io.BytesIO(pdf))


@pytest.mark.usefixtures("pango")
class TestPages:
    def test_title_author_language_and_tags_are_in_the_file(self):
        rendered = rendering.render("sample", SNAPSHOT | {"language": "es"})

        reader = read(rendered.pdf)
        assert reader.metadata.title == "Plan of the hall bath"
        assert reader.metadata.author == "Invented Tile"
        # ISO 32000-1, 14.9.2 and 14.7: /Lang, and /MarkInfo with /Marked in the catalogue.
        assert reader.trailer["/Root"]["/Lang"] == "es"
        assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
        assert "/StructTreeRoot" in reader.trailer["/Root"]
        # ISO 14289-1, clause 5: the identifier of PDF/UA-1 in the metadata.
        assert b"pdfuaid:part" in reader.trailer["/Root"]["/Metadata"].get_data()
        assert "Plan of the hall bath" in reader.pages[0].extract_text()

    def test_the_same_snapshot_gives_the_same_bytes_at_another_second(self):
        first = rendering.render("sample", SNAPSHOT)
        time.sleep(1.1)

        assert rendering.render("sample", dict(reversed(SNAPSHOT.items()))).pdf == first.pdf

    def test_pages_are_counted_as_the_file_counts_them(self):
        rendered = rendering.render("sample", SNAPSHOT | {"rows": list(range(120))})

        assert rendered.page_count == len(read(rendered.pdf).pages) > 1
        assert f"1 / {rendered.page_count}" in read(rendered.pdf).pages[0].extract_text()

    def test_the_typeface_is_ours_and_embedded(self):
        page = read(rendering.render("sample", SNAPSHOT).pdf).pages[0]

        fonts = {font.get_object()["/BaseFont"] for font in page["/Resources"]["/Font"].values()}
        assert any("Hyperlegible-Next" in font for font in fonts)

    @pytest.mark.parametrize(
        "address",
        [
            "http://127.0.0.1:9/a.png",
            "https://example.com/a.png",
            "file:///etc/hostname",
            "static:/no.png",
            "static:/../settings.py",
        ],
    )
    def test_nothing_is_fetched_but_our_own_files(self, address):
        with pytest.raises(DocumentError, match="which is not ours"):
            rendering.render("sample", SNAPSHOT | {"more": f'<img src="{address}" alt="">'})

    def test_progress_only_rises_and_speaks(self):
        said = []
        rendering.render("sample", SNAPSHOT, progress=lambda stage, percent: said.append((stage, percent)))

        assert [stage for stage, _ in said] == list(rendering.STAGES)
        assert [percent for _, percent in said] == sorted(percent for _, percent in said)


def test_what_is_written_in_a_snapshot_cannot_become_markup():
    html = rendering.render_html("sample", SNAPSHOT | {"title": "<script>x</script>"})

    assert "<script>" not in html


class TestMissingPango:
    @pytest.fixture(autouse=True)
    def _no_pango(self, monkeypatch):
        """Make the import of WeasyPrint fail as it does on a machine without Pango."""
        real = builtins.__import__

        def without(name, *args, **kwargs):
            if name == "weasyprint":
                raise OSError("cannot load library 'libgobject-2.0-0'")
            return real(name, *args, **kwargs)

        monkeypatch.setattr(builtins, "__import__", without)

    def test_rendering_says_what_to_install_in_one_line(self):
        with pytest.raises(LibraryMissing) as refused:
            rendering.render("sample", SNAPSHOT)

        assert "libpango-1.0-0 libpangoft2-1.0-0 fonts-dejavu-core" in str(refused.value)
        assert "\n" not in str(refused.value)

    def test_the_system_check_warns(self):
        (warning,) = pango_is_installed()

        assert warning.id == "documents.W001"
        assert "libpango-1.0-0" in warning.msg


def test_starting_django_does_not_load_the_library():
    program = "import django, sys; django.setup(); print('weasyprint' in sys.modules)"
    answer = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert answer.stdout.strip() == "False"
