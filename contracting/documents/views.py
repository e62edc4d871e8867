"""A document's page while it is made, the file, and trying again."""

from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_POST, require_safe

from contracting.staff.policies import StaffRequest, crew_allowed

from . import services
from .policies import document_for_user
from .serving import document_response


@require_safe
@crew_allowed
def document(request: StaffRequest, pk: int) -> HttpResponse:
    """Show how far a document is, and the way to its file. The htmx poll gets the same page's middle."""
    template = "documents/document.html"
    if request.htmx and not request.htmx.history_restore_request:
        template = "documents/_progress.html"
    shown = {"document": document_for_user(request.user, pk), "back": _came_from(request)}
    response = render(request, template, shown)
    patch_vary_headers(response, ["HX-Request"])
    response.headers["Cache-Control"] = "no-store"
    return response


def _came_from(request: HttpRequest) -> str:
    """Return the page of ours from which a person came, as the way back; "" where it is not known."""
    came = urlsplit(request.headers.get("Referer", ""))
    is_ours = came.netloc == request.get_host() and came.path not in ("", request.path)
    # Two slashes would begin the name of another host.
    is_ours = is_ours and not came.path.startswith("//")
    return f"{came.path}?{came.query}" if is_ours and came.query else came.path if is_ours else ""


@require_safe
@crew_allowed
def download(request: StaffRequest, pk: int) -> HttpResponseBase:
    return document_response(
        request, document_for_user(request.user, pk), as_attachment="keep" in request.GET
    )


@require_POST
@crew_allowed
def retry(request: StaffRequest, pk: int) -> HttpResponse:
    failed = document_for_user(request.user, pk)
    services.document_retry(document=failed)
    return redirect(failed)
