"""The first page, signing in and out, and the pages about people, pay and the company."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from contracting.forms import kept

from . import selectors, services
from .forms import CompanyForm, LabourCostForm, PersonForm, PreferencesForm
from .home import sections_for
from .letterhead import letterhead_request
from .models import LabourCost, PayRate, User
from .policies import StaffRequest, crew_allowed, everyone_allowed, office_required, owner_required

form_methods = require_http_methods(["GET", "HEAD", "POST"])

sign_in = everyone_allowed(
    LoginView.as_view(template_name="staff/sign_in.html", redirect_authenticated_user=True)
)
sign_out = everyone_allowed(LogoutView.as_view())


@require_safe
@crew_allowed
def home(request: StaffRequest) -> HttpResponse:
    return render(request, "staff/home.html", {"sections": sections_for(request.user)})


@require_safe
@office_required
def company(request: StaffRequest) -> HttpResponse:
    shown = {
        "profile": selectors.company_profile(),
        "people": selectors.people(),
        "labour_costs": selectors.labour_costs(),
        "labour_cost_now": selectors.labour_cost_on(timezone.localdate()),
    }
    return render(request, "staff/company.html", shown)


@form_methods
@owner_required
def company_edit(request: StaffRequest) -> HttpResponse:
    profile = selectors.company_profile()
    form = CompanyForm(request.POST or None, instance=profile)
    if form.is_valid() and kept(form, services.company_save, company=profile):
        messages.success(request, _("The company is saved. Issued quotes keep what they were issued with."))
        return redirect("staff:company")
    return render(request, "staff/edit.html", {"form": form, "heading": _("Company")})


@require_POST
@office_required
def letterhead(request: StaffRequest) -> HttpResponse:
    return redirect(letterhead_request(company=selectors.company_profile(), by=request.user))


@form_methods
@owner_required
def person_new(request: StaffRequest) -> HttpResponse:
    return _person(request, User(), _("New person"))


@form_methods
@owner_required
def person_edit(request: StaffRequest, pk: int) -> HttpResponse:
    person = User.objects.filter(pk=pk).first()
    if person is None:
        raise Http404
    return _person(request, person, str(person))


@form_methods
@owner_required
def person_pay(request: StaffRequest, pk: int) -> HttpResponse:
    person = User.objects.filter(pk=pk).first()
    if person is None:
        raise Http404
    today = timezone.localdate()
    company_cost = selectors.labour_cost_on(today)
    burden = company_cost.burden_basis_points if company_cost else None
    form = LabourCostForm(request.POST or None, initial={"starts_on": today, "burden_basis_points": burden})
    if form.is_valid() and kept(form, services.pay_rate_save, person=person, **form.cleaned_data):
        messages.success(request, _("The pay is saved; hours logged from that day on are costed by it."))
        return redirect("staff:person-pay", person.pk)
    shown = {
        "person": person,
        "form": form,
        "pay_rates": selectors.pay_rates_of(person),
        "labour_cost_now": company_cost,
    }
    return render(request, "staff/pay.html", shown)


@require_POST
@owner_required
def person_pay_remove(request: StaffRequest, pk: int) -> HttpResponse:
    rate = PayRate.objects.filter(pk=pk).select_related("person").first()
    if rate is None:
        raise Http404
    services.pay_rate_remove(pay_rate=rate)
    messages.success(request, _("The pay rate is removed; the one before it holds again."))
    return redirect("staff:person-pay", rate.person_id)


@form_methods
@office_required
def labour_cost_new(request: StaffRequest) -> HttpResponse:
    form = LabourCostForm(request.POST or None, initial={"starts_on": timezone.localdate()})
    if form.is_valid() and kept(form, services.labour_cost_save, **form.cleaned_data):
        messages.success(request, _("The cost of an hour is saved."))
        return redirect("staff:company")
    return render(request, "staff/edit.html", {"form": form, "heading": _("Cost of an hour")})


@require_POST
@office_required
def labour_cost_remove(request: StaffRequest, pk: int) -> HttpResponse:
    row = LabourCost.objects.filter(pk=pk).first()
    if row is None:
        raise Http404
    services.labour_cost_remove(labour_cost=row)
    messages.success(request, _("The row is removed. Issued quotes keep the cost they were issued with."))
    return redirect("staff:company")


@form_methods
@crew_allowed
def preferences(request: StaffRequest) -> HttpResponse:
    form = PreferencesForm(request.POST or None, instance=request.user)
    if form.is_valid() and kept(
        form, services.preferences_save, person=request.user, language=form.cleaned_data["language"]
    ):
        translation.activate(request.user.language)
        messages.success(request, _("Your preferences are saved."))
        return redirect("staff:preferences")
    return render(request, "staff/preferences.html", {"form": form})


@form_methods
@crew_allowed
def password(request: StaffRequest) -> HttpResponse:
    form = PasswordChangeForm(request.user, request.POST or None)
    if form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, _("Your password is changed."))
        return redirect("staff:preferences")
    return render(request, "staff/edit.html", {"form": form, "heading": _("Password")})


def _person(request: StaffRequest, person: User, heading: str) -> HttpResponse:
    form = PersonForm(request.POST or None, instance=person)
    if form.is_valid() and kept(
        form, services.person_save, person=person, password=form.cleaned_data["password"]
    ):
        messages.success(request, _("%(name)s is saved.") % {"name": person})
        return redirect("staff:company")
    return render(request, "staff/edit.html", {"form": form, "heading": heading})
