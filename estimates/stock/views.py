"""Pages of the shelf of offcuts; for the office and the owner."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required

from . import policies, selectors, services
from .forms import OffcutForm, TakeForm
from .models import Offcut


@office_required
@require_GET
def offcuts(request: StaffRequest) -> HttpResponse:
    context = {"offcuts": selectors.on_shelf(), "can_add": selectors.membranes().exists()}
    return render(request, "stock/offcuts.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def offcut_new(request: StaffRequest) -> HttpResponse:
    return _edit(request, Offcut())


@office_required
@require_http_methods(["GET", "POST"])
def offcut_edit(request: StaffRequest, pk: int) -> HttpResponse:
    return _edit(request, policies.offcut_for(request.user, pk))


@office_required
@require_POST
def offcut_take(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.offcut_for(request.user, pk)
    form = TakeForm(request.POST)
    why = form.cleaned_data["why"] if form.is_valid() else ""
    try:
        services.offcut_take(offcut=found, why=why, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The offcut is off the shelf."))
    return redirect("stock:offcuts")


def _edit(request: StaffRequest, offcut: Offcut) -> HttpResponse:
    form = OffcutForm(request.POST or None, offcut=offcut)
    if request.method == "POST" and form.is_valid():
        place = form.cleaned_data["place"]
        try:
            services.offcut_save(offcut=offcut, piece=form.piece, place=place, by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("The offcut is on the shelf; the next estimate counts on it."))
            return redirect("stock:offcuts")
    context = {"form": form, "offcut": offcut, "take": TakeForm(auto_id="take_%s")}
    return render(request, "stock/offcut_edit.html", context)
