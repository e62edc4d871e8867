"""What is answered to a request that Django itself refuses before any form has read it."""

from django.conf import settings
from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 400 on a page of ours that says what was too much; nothing of such a request was kept."""
    return render(request, "400.html", {"sentence": _sentence(exception)}, status=400)


def _sentence(exception: Exception | None) -> str:
    # Django counts the files, the fields and the bytes, and tells none of the limits in a person's words.
    if isinstance(exception, TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FILES
        return _(
            "More than %(most)d files came at once, so none of them was kept. Send them in smaller lots."
        ) % {"most": most}
    if isinstance(exception, TooManyFieldsSent):
        return _("More fields came at once than a page of ours has, so nothing was kept.")
    if isinstance(exception, RequestDataTooBig):
        return _("More text came at once than we take, so nothing was kept. Shorten it or send it in parts.")
    return _("What was asked could not be read, so nothing was kept.")
