"""Margins and gains for people."""

from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from estimates.quotes.templatetags.figures import NARROW, decimal_text
from estimates.quotes.templatetags.figures import money as money_text

register = template.Library()


@register.filter
def share(fraction: Decimal | None) -> str:
    """Print a fraction in per cent with one decimal: 0.2578 gives ``25.8 %``."""
    return "–" if fraction is None else f"{decimal_text(fraction * 100, 1)}{NARROW}%"


@register.filter
def gain(cents: int, currency: str) -> SafeString | str:
    """Print a gain with a plus and a loss with a minus and a word for those who do not see the colour."""
    if cents >= 0:
        return f"+{money_text(cents, currency)}" if cents else money_text(0, currency)
    return format_html('<span class="down">{}</span>', money_text(cents, currency))


@register.filter
def cents(amount: Decimal) -> int:
    """Return an amount in the currency as whole cents."""
    return int((amount * 100).to_integral_value())


@register.filter
def performance_words(figure_key: str) -> str:
    """Say in words what a measure of earned value tells."""
    return {
        "done": _("by its budget"),
        "cv": _("above nothing: the work done cost less than its budget"),
        "cpi": _("work done for each unit of money spent; 1 is as budgeted"),
        "sv": _("above nothing: more is done than was due by today"),
        "spi": _("work done for each unit that was due; 1 is in time"),
        "eac": _("when the rest costs as the work so far did"),
        "etc": _("until the job is done"),
        "vac": _("above nothing: the job ends under its budget"),
        "tcpi": _("what the rest needs to reach to end at the budget"),
    }.get(figure_key, "")
