"""Where anybody verifies a record, without an account. It changes nothing and shows nothing private."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from contracting.staff.policies import everyone_allowed

from . import throttle, verification
from .examiner import BusyError
from .forms import UploadForm

# What a browser puts around a file.
_AROUND = 10_000
PAGE = "warranty/verify.html"


# Nothing is changed, so a request forged in somebody's name does no harm; and a check of the form's token
# would read the whole upload before its size can be refused.
@csrf_exempt
@everyone_allowed
@never_cache
@require_http_methods(["GET", "POST"])
def verify(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        return _verify_upload(request)
    code = request.GET.get("code", "")[:80]
    answer = verification.verify_code(code) if code.strip() else None
    return render(request, PAGE, {"answer": answer, "code": code, "form": UploadForm(), "by_code": True})


def _verify_upload(request: HttpRequest) -> HttpResponse:
    refused = _refused(request)
    if refused is not None:
        return refused
    form = UploadForm(request.POST, request.FILES)
    if not form.is_valid():
        return render(request, PAGE, {"form": form})
    try:
        answer = verification.verify_file(form.cleaned_data["pdf"].read())
    except BusyError:
        return _turned_away(
            request, 503, _("Many files are being looked at just now. Try again in a minute.")
        )
    return render(request, PAGE, {"answer": answer, "form": UploadForm()})


def _refused(request: HttpRequest) -> HttpResponse | None:
    """Refuse what is too large, before it is read, and what comes too often."""
    length = request.META.get("CONTENT_LENGTH") or ""
    if not length.isdecimal() or int(length) > verification.LARGEST_FILE + _AROUND:
        most = verification.LARGEST_FILE // 1_000_000
        return _turned_away(
            request, 413, _("The file is larger than %(most)s MB; no record of ours is.") % {"most": most}
        )
    if throttle.is_too_often(request):
        return _turned_away(request, 429, _("That were many files in a short time. Try again in a minute."))
    return None


def _turned_away(request: HttpRequest, status: int, sentence: str) -> HttpResponse:
    response = render(request, PAGE, {"form": UploadForm(), "turned_away": sentence}, status=status)
    if status in {429, 503}:
        response.headers["Retry-After"] = str(throttle.A_MINUTE)
    return response
