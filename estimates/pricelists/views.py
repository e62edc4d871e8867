"""Pages of the price list; for the office and the owner only."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required
from estimates.takeoff.errors import DomainError

from . import policies, price_files, selectors, services
from .forms import MaterialForm, PriceFileForm, PriceForm, RoleForm, SupplierForm
from .models import Material, MaterialRole, Supplier

PAGE_SIZE = 100


@office_required
@require_GET
def materials(request: StaffRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "role", "all")}
    today = timezone.localdate()
    found = selectors.materials_matching(
        day=today, role=asked["role"], text=asked["q"], sold_only=not asked["all"]
    )
    page = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "asked": asked, "today": today, "roles": MaterialRole.choices}
    return render(request, "pricelists/materials.html", context)


@office_required
@require_GET
def material(request: StaffRequest, pk: int) -> HttpResponse:
    return _material_page(request, policies.material_for(request.user, pk), PriceForm())


@office_required
@require_http_methods(["GET", "POST"])
def material_new(request: StaffRequest) -> HttpResponse:
    role = RoleForm(request.GET)
    if not role.is_valid():
        return render(request, "pricelists/roles.html", {"roles": MaterialRole.choices})
    return _material_edit(request, Material(role=role.cleaned_data["role"]))


@office_required
@require_http_methods(["GET", "POST"])
def material_edit(request: StaffRequest, pk: int) -> HttpResponse:
    return _material_edit(request, policies.material_for(request.user, pk))


@office_required
@require_POST
def price_add(request: StaffRequest, pk: int) -> HttpResponse:
    row = policies.material_for(request.user, pk)
    form = PriceForm(request.POST)
    if not form.is_valid():
        return _material_page(request, row, form)
    services.price_set(
        material=row, starts_on=form.cleaned_data["price_from"], cents=form.cleaned_data["price"]
    )
    messages.success(request, _("The price of %(name)s is saved.") % {"name": row.name})
    return redirect(row)


@office_required
@require_POST
def price_remove(request: StaffRequest, pk: int) -> HttpResponse:
    price = policies.price_for(request.user, pk)
    services.price_remove(price=price)
    messages.success(request, _("The price from %(day)s is removed.") % {"day": price.starts_on})
    return redirect(price.material)


@office_required
@require_GET
def suppliers(request: StaffRequest) -> HttpResponse:
    return render(request, "pricelists/suppliers.html", {"suppliers": selectors.suppliers()})


@office_required
@require_GET
def supplier(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.supplier_for(request.user, pk)
    sold = selectors.with_prices(found.materials.order_by("role", "name"), timezone.localdate())
    return render(request, "pricelists/supplier.html", {"supplier": found, "materials": sold})


@office_required
@require_http_methods(["GET", "POST"])
def supplier_new(request: StaffRequest) -> HttpResponse:
    return _supplier_edit(request, Supplier())


@office_required
@require_http_methods(["GET", "POST"])
def supplier_edit(request: StaffRequest, pk: int) -> HttpResponse:
    return _supplier_edit(request, policies.supplier_for(request.user, pk))


@office_required
@require_http_methods(["GET", "POST"])
def prices_import(request: StaffRequest) -> HttpResponse:
    form = PriceFileForm(request.POST or None, request.FILES or None)
    if request.method != "POST" or not form.is_valid():
        return render(request, "pricelists/import.html", {"form": form})
    file, text = form.cleaned_data["file"], form.cleaned_data["text"]
    try:
        text = price_files.decode(file.read()) if file else text
        rows = price_files.read_prices(text)
        if not file:
            count = services.prices_import(rows=rows)
            messages.success(request, _("%(count)d prices are stored.") % {"count": count})
            return redirect("pricelists:materials")
    except price_files.FileRefused as error:
        form.add_error("file", str(error))
    except ValidationError as error:
        form.add_error("file", error)
    else:
        return render(request, "pricelists/import.html", _preview(rows, text))
    return render(request, "pricelists/import.html", {"form": form})


@office_required
@require_GET
def prices_export(request: StaffRequest) -> HttpResponse:
    today = timezone.localdate()
    text = price_files.written_prices(selectors.materials_matching(day=today))
    response = HttpResponse(text, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="price-list-{today}.csv"'
    return response


def _preview(rows: list[price_files.PriceRow], text: str) -> dict[str, object]:
    wrong = [row for row in rows if row.error]
    # Every wrong line is shown; of the good ones enough to see that the file is the right one.
    shown = [row for row in rows if row.error or row.line <= 200]
    return {
        "form": PriceFileForm(initial={"text": text}),
        "rows": shown,
        "count": len(rows),
        "wrong": len(wrong),
    }


def _material_page(request: StaffRequest, row: Material, form: PriceForm) -> HttpResponse:
    today = timezone.localdate()
    prices = selectors.price_history(row)
    context = {
        "material": row,
        "takeoff": selectors.takeoff_material(row),
        "sheet": selectors.data_sheet(row),
        "prices": prices,
        "current": next((price for price in prices if price.starts_on <= today), None),
        "form": form,
        "today": today,
    }
    return render(request, "pricelists/material.html", context)


def _material_edit(request: StaffRequest, row: Material) -> HttpResponse:
    form = MaterialForm(request.POST or None, material=row)
    if request.method == "POST" and form.is_valid():
        cleaned = form.cleaned_data
        price = cleaned.get("price")
        first = None if price is None else (cleaned["price_from"], price)
        try:
            saved = services.material_save(material=form.filled(), facts=form.facts(), first_price=first)
        except ValidationError as error:
            form.add_error(None, error)
        except DomainError as error:
            form.add_error(None, services.domain_as_validation(error))
        else:
            messages.success(request, _("%(name)s is saved.") % {"name": saved})
            return redirect(saved)
    return render(request, "pricelists/material_edit.html", {"form": form, "material": row})


def _supplier_edit(request: StaffRequest, row: Supplier) -> HttpResponse:
    form = SupplierForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        saved = services.supplier_save(supplier=row)
        messages.success(request, _("%(name)s is saved.") % {"name": saved})
        return redirect(saved)
    return render(request, "pricelists/supplier_edit.html", {"form": form, "supplier": row})
