"""``{{ cents|money:company.currency }}`` and ``{{ basis_points|percent }}``."""

from django import template

from contracting.money import money_text, percent_text

register = template.Library()


@register.filter
def money(cents: int | None, currency: str = "USD") -> str:
    """Write cents as money; nothing for no amount."""
    return "" if cents is None else money_text(cents, currency)


@register.filter
def percent(basis_points: int | None) -> str:
    """Write basis points as per cent, with its sign; nothing for no value."""
    return "" if basis_points is None else f"{percent_text(basis_points)}\u00a0%"
