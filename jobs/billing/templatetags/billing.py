"""Amounts of invoices for people."""

from django import template

register = template.Library()


@register.filter
def opposite(cents: int) -> int:
    """Return an amount with the other sign: what is held back is taken off."""
    return -cents
