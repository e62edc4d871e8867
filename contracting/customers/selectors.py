"""What screens read about customers and sites."""

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext

from .models import Customer, Site


def customers_matching(text: str = "") -> QuerySet[Customer]:
    """Return customers by name, with ``site_count``; *text* is looked for in names, contact and address."""
    found = Customer.objects.annotate(site_count=Count("sites", distinct=True))
    if text:
        found = found.filter(
            Q(name__icontains=text)
            | Q(email__icontains=text)
            | Q(phone__icontains=text)
            | Q(
                pk__in=Site.objects.filter(
                    Q(street__icontains=text) | Q(city__icontains=text) | Q(name__icontains=text)
                ).values("customer")
            )
        )
    return found.order_by("name", "pk")


def customer_page(pk: int) -> Customer:
    """Return the customer with contacts and sites loaded."""
    return Customer.objects.prefetch_related("contacts", "sites").get(pk=pk)


# A customer's next site is seldom in another state, and its tax and units are those of the state.
_ALIKE = ("city", "region", "units", "time_zone", "tax_base", "tax_basis_points")


def site_to_begin(customer: Customer) -> Site:
    """Return an unsaved site to be filled in: a first one where the bill goes, a next one like the last."""
    last = customer.sites.order_by("-pk").first()
    if last is None:
        street = customer.billing_address.split("\n")[0].strip()
        return Site(customer=customer, name=gettext("Main house"), street=street)
    return Site(customer=customer, **{name: getattr(last, name) for name in _ALIKE})
