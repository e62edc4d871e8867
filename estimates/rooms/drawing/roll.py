"""A roll of membrane with its cuts, laid out in rows to a scale at which a knife can follow it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from decimal import Decimal

from estimates.takeoff.cutting import CutRoll
from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.units import System

from . import marks
from .labels import Labels, Place
from .paper import LEAST_MM, SMALL_MM, WASH, LineType, Paper, Point, Translate, say, text_width
from .scales import INCH_SCALES, METRIC_SCALES, scale_words

_WIDEST_MM = 46.0  # a roll's width on paper
_GAP_MM = 11.0  # between rows, for the running length


def roll_svg(
    roll: CutRoll,
    *,
    roll_width_mm: Decimal,
    system: System,
    translate: Translate,
    names: Mapping[str, str] | None = None,
    width_mm: float = 170,
    height_mm: float = 215,
    scale: float | None = None,
    true_size: bool = False,
    name: str = "roll",
) -> str:
    """Draw what is cut from one roll, its length from left to right, in as many rows as it takes.

    Args:
        roll: a roll of the cut plan.
        roll_width_mm: the roll's width.
        names: what to write on a piece, by its key; the key itself when not given.
        width_mm: the width there is; *height_mm*: the height, so that a long roll stays on its page.
        scale: n of 1:n; when not given the usual scale at which the roll's width takes up to 46 mm and its
            rows fit the height.
        true_size: give the SVG its size in millimetres, for paper.
    """
    wide = float(roll_width_mm)
    used = float(roll.used_length_mm)
    scales = METRIC_SCALES if system is System.METRIC else INCH_SCALES
    chosen = scale or next(
        (
            one
            for one in scales
            if wide / one <= _WIDEST_MM and _Rows(1 / one, width_mm - 24, wide, used).height_mm <= height_mm
        ),
        scales[-1],
    )
    rows = _Rows(1 / chosen, width_mm - 24, wide, used)
    paper, labels = Paper(), Labels()
    rows.draw_frame(paper, system)
    for offcut in roll.offcuts:
        box = (float(offcut.x_mm), float(offcut.y_mm), float(offcut.across_mm), float(offcut.along_mm))
        rows.draw_box(paper, box, LineType.HIDDEN, "none", "offcut")
    for placed in roll.placed:
        box = (float(placed.x_mm), float(placed.y_mm), float(placed.across_mm), float(placed.along_mm))
        ring = rows.draw_box(paper, box, LineType.EDGE, "#fff", f"piece {placed.piece_key}")
        _name_piece(
            paper,
            labels,
            ring,
            (names or {}).get(placed.piece_key, placed.piece_key),
            marks.pair(placed.across_mm, placed.along_mm, system),
        )
    for cut in roll.cuts:
        rows.draw_order(paper, labels, float(cut.y_mm), cut.order, is_across=cut.direction == "across")
    words = f"{format_length(roll_width_mm, system)} · {say(scale_words(chosen, system), translate)}"
    paper.text((0, paper.low - 4), words, size=SMALL_MM, soft=True, begins=True)
    title = say(phrase(gettext_noop("Roll {number}"), number=roll.number), translate)
    described = say(
        phrase(
            gettext_noop("Cut plan of roll {number}: pieces: {count}; used {length} of it."),
            number=roll.number,
            count=len(roll.placed),
            length=format_length(roll.used_length_mm, system),
        ),
        translate,
    )
    return paper.svg(
        title=title,
        description=described,
        name=name,
        true_size=true_size,
        at_least_mm=0 if true_size else width_mm - 4,
    )


Box = tuple[float, float, float, float]


class _Rows:
    """Breaks a roll's length into rows; x on paper is along the roll, y across it."""

    def __init__(self, factor: float, space_mm: float, wide: float, used: float) -> None:
        self.factor = factor
        self.wide = wide
        self.used = max(used, 1.0)
        full = max(space_mm / factor, 1.0)
        # A last row of a finger's breadth says nothing; the rows before it take it in.
        self.count = max(1, math.ceil(self.used / full - 0.08))
        self.row_length = max(full, self.used / self.count)

    @property
    def height_mm(self) -> float:
        """What all rows take on paper, with the line of words beneath them."""
        return self.count * (self.wide * self.factor + _GAP_MM) + 6

    def put(self, row: int) -> Callable[[float, float], Point]:
        top = -row * (self.wide * self.factor + _GAP_MM)

        def placed(across: float, along: float) -> Point:
            return ((along - row * self.row_length) * self.factor, top - across * self.factor)

        return placed

    def draw_frame(self, paper: Paper, system: System) -> None:
        """Draw the roll's edges, and at each end of a row how far along the roll it is."""
        for row in range(self.count):
            begin, end = row * self.row_length, min((row + 1) * self.row_length, self.used)
            put = self.put(row)
            for across in (0.0, self.wide):
                paper.path([put(across, begin), put(across, end)], LineType.WALL, mark="roll edge")
            for along in (begin, end):
                x, y = put(0, along)
                words = format_length(Decimal(str(round(along, 4))), system)
                paper.text((x, y + 3.2), words, size=SMALL_MM, soft=True)

    def draw_box(self, paper: Paper, box: Box, line: LineType, fill: str, mark: str) -> list[Point]:
        """Draw a rectangle, in two rows where it runs over a row's end; return its largest part."""
        x, y, across, along = box
        largest: list[Point] = []
        for row in range(self.count):
            begin = max(y, row * self.row_length)
            end = min(y + along, (row + 1) * self.row_length, self.used)
            if end - begin <= 0:
                continue
            put = self.put(row)
            ring = [put(x, begin), put(x, end), put(x + across, end), put(x + across, begin)]
            paper.path(ring, line, closed=True, fill=fill if line is LineType.EDGE else WASH, mark=mark)
            if not largest or ring[1][0] - ring[0][0] > largest[1][0] - largest[0][0]:
                largest = ring
        return largest

    def draw_order(self, paper: Paper, labels: Labels, along: float, order: int, *, is_across: bool) -> None:
        """Write a cut's number at the roll's lower edge, for cuts across it."""
        if not is_across:
            return
        row = min(int(along / self.row_length), self.count - 1)
        x, y = self.put(row)(self.wide, along)
        place = Place((x, y - 3))
        words = str(order)
        if not labels.touched([(x - 1, y - 5), (x + 1, y - 5), (x + 1, y - 1), (x - 1, y - 1)]):
            labels.write(paper, words, [place], size=SMALL_MM * 0.85, soft=True)


def _name_piece(paper: Paper, labels: Labels, ring: list[Point], mark: str, size: str) -> None:
    if not ring:
        return
    wide, high = ring[1][0] - ring[0][0], ring[0][1] - ring[2][1]
    middle = ((ring[0][0] + ring[1][0]) / 2, (ring[0][1] + ring[2][1]) / 2)
    for words, text in ((f"{mark}  {size}", SMALL_MM), (mark, SMALL_MM), (mark, LEAST_MM)):
        long = text_width(words, text) + 1
        if long <= wide and high >= text * 1.2:
            labels.write(paper, words, [Place(middle)], size=text)
            return
        if long <= high and wide >= text * 1.2:
            labels.write(paper, words, [Place(middle, 90)], size=text)
            return
