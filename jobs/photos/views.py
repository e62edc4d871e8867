"""Pages of photos: a job's gallery, one photo, sending some, saying what one shows, and the files."""

from __future__ import annotations

import hashlib
import uuid
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from contracting.documents.serving import stored_response
from contracting.staff.policies import StaffRequest, crew_allowed, office_required
from jobs.work.models import Job

from . import gallery as pages
from . import policies, services, storing
from .forms import DescribeForm, SendForm, WithdrawForm
from .models import Photo
from .subjects import subjects_of

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@crew_allowed
def gallery(request: StaffRequest, job_pk: int) -> HttpResponse:
    """Show a job's photos by day, room or step."""
    job = policies.job_with_work_for(request.user, job_pk)
    with timezone.override(job.site.time_zone):
        context = pages.gallery_page(job, request.user, request.GET.get("by", ""))
        context["form"] = SendForm(known=list(context["known"].values()))
        return render(request, "photos/gallery.html", context)


@form_methods
@crew_allowed
def add(request: StaffRequest, job_pk: int) -> HttpResponse:
    """Take photos from a form; the good ones are kept, each other is named with its reason."""
    job = policies.job_with_work_for(request.user, job_pk)
    asked = request.POST if request.method == "POST" else request.GET
    about, back = asked.get("about", "")[:140], _local(asked.get("back", ""))
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = SendForm(*sent, known=subjects_of(job), about=about)
    kept = _keep(request, form, job) if form.is_valid() else []
    if kept:
        said = ngettext("%(count)d photo is stored.", "%(count)d photos are stored.", len(kept))
        messages.success(request, said % {"count": len(kept)})
    # What was refused stands in the form by now.
    if form.is_valid():
        return redirect(back or reverse("photos:gallery", args=[job.pk]))
    return render(request, "photos/add.html", {"job": job, "form": form, "back": back, "kept": kept})


@require_safe
@crew_allowed
def photo(request: StaffRequest, pk: int) -> HttpResponse:
    """Show one photo with who took it, when, and what it shows."""
    return _photo_page(request, policies.photo_for(request.user, pk), WithdrawForm())


@form_methods
@crew_allowed
def describe(request: StaffRequest, pk: int) -> HttpResponse:
    """Say what a photo shows; what was said before stays on record."""
    found = policies.photo_for(request.user, pk)
    policies.may_describe(request.user, found)
    form = DescribeForm(request.POST or None, photo=found, known=subjects_of(found.job))
    if request.method == "POST" and form.is_valid() and _described(request, form, found):
        messages.success(request, _("Noted; what was said before stays on record."))
        return redirect(found)
    context = pages.photo_page(found) | {"form": form}
    with timezone.override(found.job.site.time_zone):
        return render(request, "photos/describe.html", context)


@require_http_methods(["POST"])
@office_required
def withdraw(request: StaffRequest, pk: int) -> HttpResponse:
    """Take a photo out of sight, with a reason."""
    found = policies.photo_for(request.user, pk)
    form = WithdrawForm(request.POST)
    if form.is_valid():
        try:
            services.photo_withdraw(photo=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("The photo is withdrawn; the office still sees it in the gallery."))
            return redirect("photos:gallery", found.job_id)
    return _photo_page(request, found, form)


@require_safe
@crew_allowed
def file(request: StaffRequest, pk: int) -> HttpResponseBase:
    """Hand out the picture."""
    found = policies.photo_for(request.user, pk)
    return _picture(request, found, found.sha256)


@require_safe
@crew_allowed
def small(request: StaffRequest, pk: int) -> HttpResponseBase:
    """Hand out the small picture."""
    found = policies.photo_for(request.user, pk)
    return _picture(request, found, found.small_sha256)


def _photo_page(request: StaffRequest, found: Photo, form: WithdrawForm) -> HttpResponse:
    context = pages.photo_page(found) | {"withdraw_form": form}
    context["may_describe"] = policies.describes(request.user, found)
    with timezone.override(found.job.site.time_zone):
        return render(request, "photos/photo.html", context)


def _picture(request: StaffRequest, found: Photo, sha256: str) -> HttpResponseBase:
    name = f"photo-{found.job.number}-{found.pk}.jpg"
    return stored_response(
        request,
        file=storing.name_of(sha256),
        sha256=sha256,
        filename=name,
        content_type="image/jpeg",
        as_attachment="keep" in request.GET,
        # Its bytes never change; asked again after a while, since it may be withdrawn.
        fresh_seconds=600,
    )


def _keep(request: StaffRequest, form: SendForm, job: Job) -> list[Photo]:
    kept = []
    for sent in form.sent():
        try:
            kept.append(_kept(request, form, job, sent))
        except ValidationError as error:
            name = (sent.name or "?")[:80]
            for sentence in error.messages:
                form.add_error("photos", _("“%(name)s”: %(reason)s") % {"name": name, "reason": sentence})
    return kept


def _kept(request: StaffRequest, form: SendForm, job: Job, sent: UploadedFile[Any]) -> Photo:
    if (sent.size or 0) > settings.PHOTO_MAX_BYTES:
        raise ValidationError(services.too_large(sent.size or 0))
    content: bytes = sent.read()
    # The same file of the same form, sent twice, is the same photo.
    key = uuid.uuid5(form.cleaned_data["key"], hashlib.sha256(content).hexdigest())
    return services.photo_take(key=key, job=job, by=request.user, content=content, said=form.said())


def _described(request: StaffRequest, form: DescribeForm, found: Photo) -> bool:
    told: dict[str, Any] = form.cleaned_data
    try:
        old = policies.description_of(found, told["old"])
        services.photo_describe(key=told["key"], old=old, said=form.said(), by=request.user)
    except ValidationError as error:
        form.add_error(None, error)
        return False
    return True


def _local(address: str) -> str:
    """Return *address* if it is one of ours, else ""."""
    is_ours = address.startswith("/") and url_has_allowed_host_and_scheme(address, allowed_hosts=None)
    return address if is_ours else ""
