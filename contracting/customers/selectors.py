"""What screens read about customers and sites."""

from django.db.models import Count, Q, QuerySet

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
