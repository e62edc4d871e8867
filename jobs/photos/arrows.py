"""Arrows over a photo: kept as data, drawn as SVG on the page and on paper.

An arrow is ``[x1, y1, x2, y2]``, tail to tip, in whole ten-thousandths of the picture's width and height from
its upper left corner, so it stays where it was whatever size the picture is shown in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

WHOLE = 10_000
MOST = 20
# Head and line as a share of the picture's longer side.
_HEAD, _LINE = 0.032, 0.007


def checked(arrows: Any) -> list[list[int]]:
    """Return arrows as they are stored.

    Raises:
        ValidationError: they are no list of at most :data:`MOST` arrows of four whole numbers from 0 to
            10,000, or one has no length.
    """
    if not isinstance(arrows, Sequence) or isinstance(arrows, str):
        raise ValidationError(_("The arrows cannot be read; draw them again."))
    if len(arrows) > MOST:
        raise ValidationError(_("At most %(most)d arrows are kept on a photo.") % {"most": MOST})
    return [_checked(arrow) for arrow in arrows]


def _checked(arrow: Any) -> list[int]:
    is_whole = (
        isinstance(arrow, Sequence)
        and len(arrow) == 4
        and all(type(one) is int and 0 <= one <= WHOLE for one in arrow)
    )
    if not is_whole:
        raise ValidationError(_("The arrows cannot be read; draw them again."))
    if tuple(arrow[:2]) == tuple(arrow[2:]):
        raise ValidationError(_("An arrow needs two ends."))
    return list(arrow)


def paths(arrows: Sequence[Sequence[int]], width: int, height: int) -> SafeString:
    """Return the SVG of *arrows* in the picture's own pixels: each a dark arrow on a light edge, so that it
    shows on any ground and in black and white."""
    side = max(width, height)
    line, head = side * _LINE, side * _HEAD
    drawn = [_shape(arrow, width, height, head) for arrow in arrows]
    return format_html_join(
        "",
        '<g class="arrow" fill="none" stroke-linejoin="round" stroke-linecap="round">'
        '<path d="{}" stroke="#fff" stroke-width="{}"/><path d="{}" stroke="#a2431c" stroke-width="{}"/></g>',
        ((shape, _n(line * 2.1), shape, _n(line)) for shape in drawn),
    )


def overlay(arrows: Sequence[Sequence[int]], width: int, height: int) -> SafeString:
    """Return a whole SVG that lies over the picture; not read aloud: the caption says what they show."""
    return format_html(
        '<svg class="arrows" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}" '
        'aria-hidden="true">{}</svg>',
        width,
        height,
        paths(arrows, width, height),
    )


def _shape(arrow: Sequence[int], width: int, height: int, head: float) -> str:
    x1, y1, x2, y2 = (value * side / WHOLE for value, side in zip(arrow, (width, height) * 2, strict=True))
    length = math.hypot(x2 - x1, y2 - y1)
    size = min(head, length * 0.6)
    away = math.atan2(y1 - y2, x1 - x2)
    wings = [(x2 + size * math.cos(away + turn), y2 + size * math.sin(away + turn)) for turn in (0.45, -0.45)]
    (ax, ay), (bx, by) = wings
    return f"M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}M{_n(ax)} {_n(ay)}L{_n(x2)} {_n(y2)}L{_n(bx)} {_n(by)}"


def _n(value: float) -> str:
    """One spelling on every machine, so that the same record gives the same bytes."""
    return f"{Decimal(round(value * 10)) / 10:f}"
