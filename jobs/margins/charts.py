"""The charts of the owner's pages as SVG made on the server; each stands beside the table of its numbers.

Black and white is enough to read them: what was quoted is an outline, what is now is filled, a loss is
hatched, and every bar prints its number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from estimates.quotes.templatetags.figures import MINUS, decimal_text

WIDTH, HEIGHT = 440, 230
TOP, BOTTOM, SIDE = 24, 44, 6


@dataclass(frozen=True)
class Band:
    """Jobs whose margin lies in a band: how many by the quote, how many by the forecast."""

    label: str
    quoted: int
    forecast: int
    is_loss: bool = False


@dataclass(frozen=True)
class Fall:
    """A step on the way from the quoted margin to the margin now, in whole cents."""

    label: str
    cents: int
    is_total: bool = False


def bands_chart(bands: Sequence[Band], label: str) -> SafeString:
    """Draw two columns a band: quoted as an outline, forecast filled."""
    most = max((max(band.quoted, band.forecast) for band in bands), default=0) or 1
    width = (WIDTH - 2 * SIDE) / max(1, len(bands))
    bar = min(26.0, width * 0.36)
    floor, room = HEIGHT - BOTTOM, HEIGHT - BOTTOM - TOP
    drawn = []
    for number, band in enumerate(bands):
        middle = SIDE + width * (number + 0.5)
        for count, left, kind in (
            (band.quoted, middle - bar - 1.5, "quoted"),
            (band.forecast, middle + 1.5, "loss" if band.is_loss else "now"),
        ):
            high = room * count / most
            drawn.append(_bar(left, floor - high, bar, high, kind))
            drawn.append(_text(left + bar / 2, floor - high - 5, decimal_text(count, 0), "value"))
        drawn.append(_text(middle, floor + 18, band.label, "name"))
    return _svg(drawn, floor, label)


def waterfall(falls: Sequence[Fall], label: str) -> SafeString:
    """Draw the way from one total to the next: each part hangs where the part before it ended."""
    levels, at = [], 0
    for fall in falls:
        start, at = (0, fall.cents) if fall.is_total else (at, at + fall.cents)
        levels.append((start, at))
    highest = max(0, *(max(pair) for pair in levels))
    lowest = min(0, *(min(pair) for pair in levels))
    span = (highest - lowest) or 1
    room = HEIGHT - BOTTOM - TOP - 10
    width = (WIDTH - 2 * SIDE) / max(1, len(falls))
    bar = width * 0.62

    def y(cents: int) -> float:
        return TOP + 10 + room * (highest - cents) / span

    drawn = []
    for number, (fall, (start, end)) in enumerate(zip(falls, levels, strict=True)):
        left = SIDE + width * number + (width - bar) / 2
        high = abs(y(start) - y(end))
        kind = (
            ("quoted" if number == 0 else "now") if fall.is_total else ("loss" if fall.cents < 0 else "gain")
        )
        drawn.append(_bar(left, min(y(start), y(end)), bar, max(high, 1.0), kind))
        drawn.append(_text(left + bar / 2, min(y(start), y(end)) - 5, _short(fall), "value"))
        # Two heights, so that long words in narrow columns do not meet.
        drawn.append(
            _text(left + bar / 2, HEIGHT - BOTTOM + (18 if number % 2 == 0 else 34), fall.label, "name")
        )
        if number + 1 < len(falls):
            drawn.append(
                format_html(
                    '<line class="link" x1="{}" y1="{}" x2="{}" y2="{}"/>',
                    *(f"{value:.1f}" for value in (left + bar, y(end), left + width, y(end))),
                )
            )
    return _svg(drawn, y(0), label)


def _short(fall: Fall) -> str:
    whole = decimal_text(abs(round(fall.cents / 100)), 0)
    if not fall.is_total and not round(fall.cents / 100):
        return "0"
    sign = MINUS if fall.cents < 0 else ("" if fall.is_total else "+")
    return f"{sign}{whole}"


def _bar(left: float, top: float, width: float, height: float, kind: str) -> SafeString:
    return format_html(
        '<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>',
        kind,
        *(f"{value:.1f}" for value in (left, top, width, height)),
    )


def _text(x: float, y: float, text: str, kind: str) -> SafeString:
    return format_html(
        '<text class="{}" x="{}" y="{}" text-anchor="middle">{}</text>', kind, f"{x:.1f}", f"{y:.1f}", text
    )


def _svg(drawn: Sequence[SafeString], zero: float, label: str) -> SafeString:
    return format_html(
        '<svg class="drawing margin-chart" viewBox="0 0 {} {}" role="img" aria-label="{}">'
        '<defs><pattern id="loss-hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="5"/></pattern></defs>'
        '{}<line class="zero" x1="0" x2="{}" y1="{}" y2="{}"/></svg>',
        WIDTH,
        HEIGHT,
        label,
        format_html_join("", "{}", ((part,) for part in drawn)),
        WIDTH,
        f"{zero:.1f}",
        f"{zero:.1f}",
    )
