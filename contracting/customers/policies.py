"""Getting a customer, contact or site is asking for the right to it: the office and the owner have it."""

from django.http import Http404

from contracting.staff.models import User

from .models import Contact, Customer, Site


def customer_for(user: User, pk: int) -> Customer:
    """Return the customer; Http404 for somebody without the right or when there is none."""
    customer = Customer.objects.filter(pk=pk).first() if user.sees_money else None
    if customer is None:
        raise Http404
    return customer


def site_for(user: User, pk: int) -> Site:
    """Return the site with its customer; Http404 as above."""
    site = Site.objects.select_related("customer").filter(pk=pk).first() if user.sees_money else None
    if site is None:
        raise Http404
    return site


def contact_for(user: User, pk: int) -> Contact:
    """Return the contact with its customer; Http404 as above."""
    contact = Contact.objects.select_related("customer").filter(pk=pk).first() if user.sees_money else None
    if contact is None:
        raise Http404
    return contact
