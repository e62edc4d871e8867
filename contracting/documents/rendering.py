"""From a frozen snapshot to a PDF. Nothing here reads the database, the network or the clock."""

import datetime
import io
import json
import os
from collections.abc import Callable
from contextlib import ExitStack, redirect_stdout
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from . import registry
from .errors import DocumentError, LibraryMissing

# Marked here, translated where they are shown, since the reader's language is not the worker's.
STAGES = (
    gettext_noop("Reading what was frozen"),
    gettext_noop("Laying out the pages"),
    gettext_noop("Writing the pages"),
    gettext_noop("Storing the file"),
)


@dataclass(frozen=True)
class RenderedDocument:
    """The bytes of a PDF and the number of its pages."""

    pdf: bytes
    page_count: int


def check_library() -> None:
    """Make sure that the library that lays out pages can be loaded.

    Raises:
        LibraryMissing: Pango is not installed; the sentence names the Debian packages.
    """
    # The typeface is unpacked from its web form and would be stamped with the time of day, which would make
    # the bytes of two renderings differ.
    os.environ.setdefault("SOURCE_DATE_EPOCH", "0")
    try:
        # WeasyPrint opens Pango when it is imported; it is imported here and nowhere else, so that the web
        # server and every command start on a machine without it.
        # Without Pango it also prints a page of advice, which our one line replaces.
        with redirect_stdout(io.StringIO()):
            import weasyprint  # noqa: F401
    except OSError as error:
        raise LibraryMissing(str(error)) from error


def render(
    kind: str, snapshot: dict[str, Any], *, progress: Callable[[str, int], None] = lambda stage, percent: None
) -> RenderedDocument:
    """Return the PDF of *snapshot*; the same snapshot gives the same bytes, but for what a kind's own
    ``finish`` adds.

    Args:
        kind: a registered kind.
        snapshot: the frozen input; its ``language`` and ``time_zone`` rule words, dates and numbers.
        progress: told the stage (translated later, where it is shown) and the per cent done.

    Raises:
        LibraryMissing: Pango is not installed.
        DocumentError: the pages ask for a file that is not there, or the kind's ``finish`` cannot be done.
    """
    check_library()
    from weasyprint import HTML, Attachment
    from weasyprint.urls import FatalURLFetchingError

    renderer = registry.renderer(kind)
    # PostgreSQL keeps the keys of JSON in an order of its own; templates see one order everywhere.
    ordered = json.loads(json.dumps(snapshot, sort_keys=True))
    progress(STAGES[0], 10)
    html = render_html(kind, ordered)
    progress(STAGES[1], 30)
    try:
        fetch = partial(_fetch, stored=renderer.stored)
        source = HTML(string=html, base_url="static:/", url_fetcher=fetch)
        pages = source.render(pdf_variant=renderer.variant)
    except FatalURLFetchingError as error:
        raise DocumentError(str(error)) from error
    progress(STAGES[2], 75)
    attachments = [
        Attachment(
            string=one.content,
            name=one.name,
            description=one.description,
            relationship=one.relationship,
            # Both, or the time of day gets into the bytes.
            created=one.made_at.astimezone(datetime.UTC),
            modified=one.made_at.astimezone(datetime.UTC),
        )
        for one in renderer.attachments(ordered)
    ]
    pdf = pages.write_pdf(pdf_variant=renderer.variant, attachments=attachments)
    pdf = renderer.finish(pdf, ordered)
    progress(STAGES[3], 95)
    return RenderedDocument(pdf, len(pages.pages))


def render_html(kind: str, snapshot: dict[str, Any]) -> str:
    """Return the pages as HTML, in the snapshot's language and time zone."""
    renderer = registry.renderer(kind)
    with ExitStack() as ruled:
        ruled.enter_context(translation.override(snapshot.get("language") or settings.LANGUAGE_CODE))
        ruled.enter_context(timezone.override(snapshot.get("time_zone") or settings.TIME_ZONE))
        return render_to_string(renderer.template, renderer.context(snapshot))


def _fetch(url: str, stored: Callable[[str], bytes] | None = None) -> Any:
    """Fetch for the pages: our own static files as ``static:/path``, data URIs, and pictures of the kind's
    own as ``stored:`` and the hash of their bytes. Never the network."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    if url.startswith("stored:") and stored is not None:
        try:
            return URLFetcherResponse(url, stored(url.removeprefix("stored:")))
        except DocumentError as error:
            raise FatalURLFetchingError(str(error)) from error
    if url.startswith("data:"):
        return URLFetcher(allowed_protocols={"data"}).fetch(url)
    try:
        found = finders.find(url.removeprefix("static:").lstrip("/")) if url.startswith("static:") else None
    except SuspiciousFileOperation:
        found = None
    if not isinstance(found, str):
        # Fatal, since pages without their typeface or drawing must not pass for the document.
        sentence = _("The pages ask for {address}, which is not ours.")
        raise FatalURLFetchingError(sentence.format(address=url))
    return URLFetcherResponse(url, Path(found).read_bytes())
