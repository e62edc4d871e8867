"""A sheet of paper to draw on: lengths in paper millimetres, y up, written out as SVG.

Line types follow ISO 128-2 (continuous wide for what is built, continuous narrow for edges and
dimensions, dashed for what is hidden, long-dash dot for centre lines; wide to narrow is 2 to 1 or more).
Only presentation attributes are written, since the site's content security policy refuses inline styles.
Everything must read in black and white: colour only repeats what line type or a word already says.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias
from xml.sax.saxutils import escape, quoteattr

from estimates.takeoff.phrases import Phrase

Point: TypeAlias = tuple[float, float]
Translate: TypeAlias = Callable[[str], str]

INK = "#1b2730"
SOFT = "#4f5c65"
CLAY = "#a2431c"
WASH = "#f0e6dc"
STOP = "#9a1f1f"
FONT = "'Hyperlegible Next', 'DejaVu Sans', sans-serif"
TEXT_MM = 3.4
SMALL_MM = 3.0
LEAST_MM = 2.3  # the smallest text: marks of strips and of small pieces, which the cut list gives in full


class LineType(Enum):
    """A kind of line: stroke width (mm), colour, dash pattern (mm)."""

    WALL = (0.8, INK, "")
    EDGE = (0.25, INK, "")
    OUTLINE = (0.35, INK, "")
    HIDDEN = (0.25, INK, "1.8 1")
    CENTRE = (0.2, INK, "4.5 0.8 0.6 0.8")
    DIMENSION = (0.18, SOFT, "")
    STRIP = (0.2, CLAY, "")
    BATCH = (0.55, INK, "")
    HATCH = (0.13, SOFT, "")
    TILE = (0.14, "#7d8589", "")
    GRID = (0.1, "#b9bec1", "")
    WRONG = (1.1, STOP, "3 1.2")
    LEADER = (0.15, SOFT, "")


@dataclass
class Paper:
    """Collects marks and how far they reach. All coordinates are paper millimetres, y up."""

    parts: list[str] = field(default_factory=list)
    left: float = math.inf
    right: float = -math.inf
    low: float = math.inf
    high: float = -math.inf

    def reach(self, points: Iterable[Point]) -> None:
        """Make the sheet large enough to show *points*."""
        for x, y in points:
            self.left, self.right = min(self.left, x), max(self.right, x)
            self.low, self.high = min(self.low, y), max(self.high, y)

    def centre_in(self, width_mm: float) -> None:
        """Widen the sheet alike on both sides, so that what is drawn so far stands in the middle of it."""
        spare = max(0.0, width_mm - (self.right - self.left)) / 2
        self.left, self.right = self.left - spare, self.right + spare

    def path(
        self,
        points: Sequence[Point],
        line: LineType | None,
        *,
        closed: bool = False,
        fill: str = "none",
        mark: str = "",
    ) -> None:
        """Draw a line through *points*; *mark* becomes its ``data-mark`` (for tests and scripts)."""
        self.polygons([points], line, closed=closed, fill=fill, mark=mark)

    def polygons(
        self,
        rings: Sequence[Sequence[Point]],
        line: LineType | None,
        *,
        closed: bool = True,
        fill: str = "none",
        mark: str = "",
    ) -> None:
        """Draw several lines as one path; inner rings are holes."""
        for ring in rings:
            self.reach(ring)
        steps = " ".join(
            "M" + "L".join(f"{number(x)} {number(-y)}" for x, y in ring) + ("Z" if closed else "")
            for ring in rings
        )
        named = f" data-mark={quoteattr(clean(mark))}" if mark else ""
        self.parts.append(f'<path{named} d="{steps}" fill="{fill}" fill-rule="evenodd"{stroke(line)}/>')

    def circle(
        self, at: Point, radius: float, line: LineType | None, *, fill: str = "none", mark: str = ""
    ) -> None:
        x, y = at
        self.reach([(x - radius, y - radius), (x + radius, y + radius)])
        named = f" data-mark={quoteattr(clean(mark))}" if mark else ""
        self.parts.append(
            f'<circle{named} cx="{number(x)}" cy="{number(-y)}" r="{number(radius)}" '
            f'fill="{fill}"{stroke(line)}/>'
        )

    def text(
        self,
        at: Point,
        words: str,
        *,
        size: float = TEXT_MM,
        angle: float = 0,
        soft: bool = False,
        bold: bool = False,
        begins: bool = False,
    ) -> None:
        """Write *words* centred on *at*, or beginning there, turned *angle* degrees anticlockwise."""
        x, y = at
        half = text_width(words, size) / 2 if begins else 0.0
        self.reach(text_box((x + half, y), words, size, angle))
        # A third of the size below the middle puts figures and capitals in the middle of their line.
        radians = math.radians(angle)
        x, y = x + math.sin(radians) * size * 0.35, y - math.cos(radians) * size * 0.35
        turn = f' transform="rotate({number(-angle)} {number(x)} {number(-y)})"' if abs(angle) > 0.01 else ""
        anchor = "start" if begins else "middle"
        self.parts.append(
            f'<text x="{number(x)}" y="{number(-y)}" text-anchor="{anchor}" font-size="{number(size)}" '
            f'font-family="{FONT}" font-weight="{600 if bold else 400}" fill="{SOFT if soft else INK}"{turn}>'
            f"{escape(clean(words))}</text>"
        )

    def blank(self, box: Sequence[Point]) -> None:
        """Lay white under a text, so that lines do not run through it."""
        self.polygons([box], None, fill="#fff")

    def svg(
        self,
        *,
        title: str,
        description: str,
        name: str,
        true_size: bool,
        at_least_mm: float = 0,
        margin_mm: float = 2,
    ) -> str:
        """Write the sheet as an SVG element.

        Args:
            name: makes the ids of title and description unique on a page.
            true_size: width and height are given in millimetres, so that paper prints to scale.
            at_least_mm: the width the sheet fills up to, so that a small drawing is not blown up on screen.
        """
        if self.left > self.right:
            self.reach([(0, 0), (10, 10)])
        left, right = self.left - margin_mm, self.right + margin_mm
        low, high = self.low - margin_mm, self.high + margin_mm
        spare = max(0.0, at_least_mm - (right - left))
        left, right = left - spare / 2, right + spare / 2
        width, height = right - left, high - low
        size = f' width="{number(width)}mm" height="{number(height)}mm"' if true_size else ""
        key = "".join(sign if sign.isalnum() else "-" for sign in name)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img"{size} '
            f'viewBox="{number(left)} {number(-high)} {number(width)} {number(height)}" '
            f'aria-labelledby="{key}-title {key}-desc">'
            f'<title id="{key}-title">{escape(clean(title))}</title>'
            f'<desc id="{key}-desc">{escape(clean(description))}</desc>' + "".join(self.parts) + "</svg>"
        )


def number(value: float) -> str:
    """Write a coordinate to a hundredth of a millimetre on paper."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def stroke(line: LineType | None) -> str:
    if line is None:
        return ""
    width, colour, dashes = line.value
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f' stroke="{colour}" stroke-width="{width}"{dash} stroke-linejoin="miter"'


def clean(words: str) -> str:
    """Drop control signs that XML does not allow."""
    return "".join(sign for sign in words if sign >= " " or sign in "\t\n")


def text_width(words: str, size: float) -> float:
    """Return about how wide *words* are; our typeface's figures are 0.56 of its size."""
    return len(words) * size * 0.56


def text_box(at: Point, words: str, size: float, angle: float = 0) -> list[Point]:
    """Return the four corners of the box *words* need."""
    half, tall = text_width(words, size) / 2 + 0.6, size * 0.62
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return [
        (at[0] + c * x - s * y, at[1] + s * x + c * y)
        for x, y in ((-half, -tall), (half, -tall), (half, tall), (-half, tall))
    ]


def say(words: Phrase | str, translate: Translate) -> str:
    return words.render(translate) if isinstance(words, Phrase) else words
