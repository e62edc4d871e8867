"""Handing a finished document over HTTP, also for customers' private links."""

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
    etag = quote_etag(document.sha256)
    unchanged = get_conditional_response(request, etag=etag)
    if isinstance(unchanged, HttpResponseNotModified):
        return _marked(unchanged, etag)
    try:
        file = default_storage.open(document.file)
    except FileNotFoundError as error:
        raise Http404(_("The file of this document is missing from the store.")) from error
    response = FileResponse(
        file, as_attachment=as_attachment, filename=document.filename, content_type="application/pdf"
    )
    return _marked(response, etag)


def _marked(response: HttpResponseBase, etag: str) -> HttpResponseBase:
    response.headers["ETag"] = etag
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
