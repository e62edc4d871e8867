"""Handing a stored file over HTTP: documents, also for customers' private links, and photos.

Whatever the storage is, the bytes pass through us: every request is asked for its right anew, and a store
elsewhere needs no public address.
"""

from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponseBase, HttpResponseNotModified
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.utils.translation import gettext as _

from .models import DocumentRequest


def document_response(
    request: HttpRequest, document: DocumentRequest, *, as_attachment: bool = False
) -> HttpResponseBase:
    """Return the PDF of a done document; the caller has decided that this reader may have it.

    Raises:
        Http404: it is not done, or its file is gone from the store.
    """
    if not document.is_done:
        raise Http404(_("This document is not ready yet."))
    return stored_response(
        request,
        file=document.file,
        sha256=document.sha256,
        filename=document.filename,
        content_type="application/pdf",
        as_attachment=as_attachment,
    )


def stored_response(
    request: HttpRequest,
    *,
    file: str,
    sha256: str,
    filename: str,
    content_type: str,
    as_attachment: bool = False,
    fresh_seconds: int = 0,
) -> HttpResponseBase:
    """Return a file of the store; the caller has decided that this reader may have it.

    Args:
        sha256: of its bytes; the mark by which a browser asks whether they have changed.
        fresh_seconds: for how long the reader's own browser, and nobody between, need not ask again.

    Raises:
        Http404: the file is gone from the store.
    """
    etag = quote_etag(sha256)
    unchanged = get_conditional_response(request, etag=etag)
    if isinstance(unchanged, HttpResponseNotModified):
        return _marked(unchanged, etag, fresh_seconds)
    try:
        opened = default_storage.open(file)
    except FileNotFoundError as error:
        raise Http404(_("This file is missing from the store.")) from error
    response = FileResponse(opened, as_attachment=as_attachment, filename=filename, content_type=content_type)
    return _marked(response, etag, fresh_seconds)


def _marked(response: HttpResponseBase, etag: str, fresh_seconds: int) -> HttpResponseBase:
    response.headers["ETag"] = etag
    response.headers["Cache-Control"] = (
        f"private, max-age={fresh_seconds}" if fresh_seconds else "private, no-cache"
    )
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
