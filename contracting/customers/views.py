"""Pages for customers, their contacts and their sites."""

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required

from . import policies, selectors, services, shown
from .forms import ContactForm, CustomerForm, SiteForm
from .models import Contact, Customer, Site

PAGE_SIZE = 50


@office_required
@require_GET
def customers(request: StaffRequest) -> HttpResponse:
    text = request.GET.get("q", "").strip()
    page = Paginator(selectors.customers_matching(text), PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "customers/customers.html", {"page": page, "text": text})


@office_required
@require_GET
def customer(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.customer_for(request.user, pk)
    customer = selectors.customer_page(found.pk)
    return render(
        request, "customers/customer.html", {"customer": customer, "sections": shown.sections_of(customer)}
    )


@office_required
@require_GET
def site(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.site_for(request.user, pk)
    context = {"site": found, "sections": shown.site_sections_of(found)}
    return render(request, "customers/site.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def customer_new(request: StaffRequest) -> HttpResponse:
    return _edit(request, CustomerForm, Customer(), heading=_("New customer"))


@office_required
@require_http_methods(["GET", "POST"])
def customer_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.customer_for(request.user, pk)
    return _edit(request, CustomerForm, found, heading=found.name, remove="customers:customer-remove")


@office_required
@require_http_methods(["GET", "POST"])
def contact_new(request: StaffRequest, pk: int) -> HttpResponse:
    owner = policies.customer_for(request.user, pk)
    return _edit(request, ContactForm, Contact(customer=owner), heading=_("New contact"), parent=owner)


@office_required
@require_http_methods(["GET", "POST"])
def contact_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.contact_for(request.user, pk)
    return _edit(
        request,
        ContactForm,
        found,
        heading=found.name,
        parent=found.customer,
        remove="customers:contact-remove",
    )


@office_required
@require_http_methods(["GET", "POST"])
def site_new(request: StaffRequest, pk: int) -> HttpResponse:
    owner = policies.customer_for(request.user, pk)
    return _edit(request, SiteForm, selectors.site_to_begin(owner), heading=_("New site"), parent=owner)


@office_required
@require_http_methods(["GET", "POST"])
def site_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.site_for(request.user, pk)
    return _edit(
        request, SiteForm, found, heading=str(found), parent=found.customer, remove="customers:site-remove"
    )


@office_required
@require_POST
def customer_remove(request: StaffRequest, pk: int) -> HttpResponse:
    return _remove(request, policies.customer_for(request.user, pk), stay="customers:customer")


@office_required
@require_POST
def contact_remove(request: StaffRequest, pk: int) -> HttpResponse:
    return _remove(request, policies.contact_for(request.user, pk), stay="customers:contact-edit")


@office_required
@require_POST
def site_remove(request: StaffRequest, pk: int) -> HttpResponse:
    return _remove(request, policies.site_for(request.user, pk), stay="customers:site")


def _edit(
    request: StaffRequest,
    form_class: type[forms.ModelForm[Any]],
    record: Customer | Contact | Site,
    **context: object,
) -> HttpResponse:
    """Show the form, or store what it holds; a refused value comes back beside its field."""
    form = form_class(request.POST or None, instance=record)
    if request.method == "POST" and form.is_valid():
        try:
            saved = services.record_save(record=record)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("%(name)s is saved.") % {"name": saved})
            return redirect(saved.customer if isinstance(saved, Contact) else saved)
    return render(request, "customers/edit.html", {"form": form, "record": record, **context})


def _remove(request: StaffRequest, record: Model, *, stay: str) -> HttpResponse:
    pk, name, owner = record.pk, str(record), getattr(record, "customer", None)
    try:
        services.record_remove(record=record)
    except ValidationError as error:
        messages.error(request, error.messages[0])
        return redirect(stay, pk)
    messages.success(request, _("%(name)s is removed.") % {"name": name})
    return redirect(owner) if owner else redirect("customers:customers")
