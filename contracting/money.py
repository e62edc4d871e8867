"""Whole cents: rounding to them, and writing them and basis points in the reader's language."""

from decimal import ROUND_HALF_UP, Decimal

from django.utils.formats import number_format

_SIGNS = {"USD": "$", "CAD": "CA$", "AUD": "A$", "NZD": "NZ$", "GBP": "£", "EUR": "€", "MXN": "MX$"}


def half_up(value: Decimal) -> int:
    """Return *value* rounded to a whole number, halves away from nothing.

    >>> half_up(Decimal("2.5")), half_up(Decimal("-2.5"))
    (3, -3)
    """
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def money_text(cents: int, currency: str = "USD") -> str:
    """Write *cents* with the sign of *currency* and the reader's separators.

    >>> money_text(-123450)
    '−$1,234.50'
    """
    amount = number_format(Decimal(abs(cents)) / 100, decimal_pos=2, force_grouping=True)
    sign = _SIGNS.get(currency, f"{currency}\u00a0")
    return f"{'−' if cents < 0 else ''}{sign}{amount}"


def percent_text(basis_points: int) -> str:
    """Write basis points as a number of per cent without idle noughts: 825 is 8.25, 3000 is 30."""
    return number_format(Decimal(basis_points).scaleb(-2).normalize().__format__("f"))
