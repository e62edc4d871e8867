"""What phones call to send photos: JSON in and out, by the session of whoever is signed in."""

from __future__ import annotations

import json
import uuid

from django.core.exceptions import ValidationError
from django.http import HttpRequest, JsonResponse
from django.http.request import UnreadablePostError
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, crew_allowed

from . import policies, uploads
from .models import PhotoUpload, UploadState

MOST_JSON = 20_000


@require_POST
@crew_allowed
def start(request: StaffRequest) -> JsonResponse:
    """Announce a photo, or ask again for one that was announced."""
    try:
        told = json.loads(_body(request, MOST_JSON))
        read = uploads.announced(told)
        job = policies.job_for(request.user, told.get("job"))
        upload = uploads.upload_start(told=read, job=job, by=request.user)
    except ValidationError as error:
        return _refused(error)
    except UnreadablePostError:
        # The signal went while the announcement was on its way; nobody reads this answer.
        return _refused(ValidationError(_("The connection was lost.")))
    except (ValueError, RecursionError):
        return _refused(ValidationError(_("Expected JSON.")))
    return _answer(upload, 200)


@require_http_methods(["GET", "PATCH"])
@crew_allowed
def upload(request: StaffRequest, key: uuid.UUID) -> JsonResponse:
    """Say how far an upload is, or add bytes to it at the header's ``Upload-Offset``."""
    found = policies.upload_for(request.user, key)
    if request.method == "GET":
        return _answer(found, 200)
    try:
        offset = int(request.headers.get("Upload-Offset", ""))
        # One more than fits, so that too many show.
        content = _body(request, found.size - found.offset + 1)
        found = uploads.upload_append(upload=found, offset=offset, content=content)
    except uploads.WrongOffset:
        return _answer(found, 409)
    except ValidationError as error:
        return _answer(found, 400, " ".join(error.messages))
    except ValueError:
        return _answer(found, 400, _("Expected the header Upload-Offset with a whole number."))
    except UnreadablePostError:
        # The signal went while the piece was on its way; nobody reads this answer.
        return _answer(found, 400, _("The connection was lost."))
    return _answer(found, 200)


def _body(request: HttpRequest, most: int) -> bytes:
    """Read the body past Django's own limit, which is meant for forms; at most *most* bytes of it."""
    return request.read(most)


def _answer(upload: PhotoUpload, status: int, message: str = "") -> JsonResponse:
    told = {
        "key": str(upload.key),
        "offset": upload.offset,
        "state": upload.state,
        "message": message or upload.message,
        "photo": upload.photo_id,
    }
    response = JsonResponse(told, status=status)
    response.headers["Cache-Control"] = "no-store"
    response.headers["Upload-Offset"] = str(upload.offset)
    return response


def _refused(error: ValidationError) -> JsonResponse:
    """Say what is wrong with an announcement; sending it again would not help."""
    message = " ".join(error.messages)
    told = {"key": "", "offset": 0, "state": UploadState.REFUSED, "message": message, "photo": None}
    return JsonResponse(told, status=400)
