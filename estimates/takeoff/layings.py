"""The ways a face may be laid with membrane: which way sheets run, and where their seams lie.

Runs go the full width or length of a face; all but the first and the last are as wide as the roll. Where the
first ends decides where all seams lie. On a face whose sides are parallel to the runs, the membrane taken is
piecewise linear in that width, with its corners where a run begins or ends at a corner of the face; so the
least lies at one of those positions, and only they are tried.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely.geometry import Polygon as Shape

from .errors import DomainError
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice
from .result import Face
from .space import Interval, on_grid, parts, rectangle, shape_of

MOST_RUNS = 400
# Ways kept for a face in each direction, by what they take; a face of more corners has more.
MOST_WAYS = 6
_EPS = 0.01


@dataclass(frozen=True)
class Roll:
    """The roll that a plan is made for, in mm."""

    material: str
    width_mm: Decimal
    length_mm: Decimal


@dataclass(frozen=True)
class DrainSpot:
    """A drain on a level face: its centre and radius (mm)."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Laying:
    """One way to lay a face; *clear*: no seam is nearer to a drain than it may be.

    *pieces*: (course, outline, across, along) in laying order, each cut from its bounding rectangle.
    """

    face: Face
    roll: Roll
    along_x: bool
    courses: int
    clear: bool
    pieces: tuple[tuple[int, Shape, Decimal, Decimal], ...]

    @property
    def rolled_mm2(self) -> Decimal:
        """The roll's area that the pieces take as rectangles."""
        return sum((across * along for _, _, across, along in self.pieces), Decimal(0))


def check_runs(label: Phrase, extent: float, roll: Roll, lap: float) -> None:
    """Refuse what would take more runs or strips than anybody lays: a size was mistyped.

    Raises:
        DomainError: rule ``membrane.too-many-runs``.
    """
    runs = extent / (float(roll.width_mm) - lap)
    if runs > MOST_RUNS:
        raise DomainError(
            phrase(
                gettext_noop(
                    "{face} would take {runs} widths of {material}; more than {most} is most likely a "
                    "mistyped roll width, lap or room."
                ),
                face=label,
                runs=round(runs),
                material=roll.material,
                most=MOST_RUNS,
            ),
            rule="membrane.too-many-runs",
            place="materials",
            material=roll.material,
        )


def ways(face: Face, roll: Roll, practice: Practice, drains: Sequence[DrainSpot]) -> list[Laying]:
    """Return the admissible ways to lay a face from a roll, the one that takes least first.

    Both directions; the narrow sheet at either side; seams at the face's corners and clear of drains. A way
    whose seam lies too near a drain counts only where there is no other. Of ways that take the same pieces
    the first is kept: full widths from the start, the narrow sheet last.

    Raises:
        DomainError: see :func:`check_runs`.
    """
    found = [
        laying for along_x in (True, False) for laying in _ways_along(face, roll, practice, along_x, drains)
    ]
    if any(laying.clear for laying in found):
        found = [laying for laying in found if laying.clear]
    return sorted(found, key=lambda laying: (laying.rolled_mm2, len(laying.pieces), not laying.along_x))


def first_way(
    face: Face, roll: Roll, practice: Practice, along_x: bool, drains: Sequence[DrainSpot]
) -> Laying:
    """Return the plain way in one direction: full widths from the start, moved only for a drain."""
    return next(_laid(face, roll, practice, along_x, drains))


def _ways_along(
    face: Face, roll: Roll, practice: Practice, along_x: bool, drains: Sequence[DrainSpot]
) -> list[Laying]:
    unlike: dict[tuple[bool, tuple[tuple[Decimal, Decimal], ...]], Laying] = {}
    for laying in _laid(face, roll, practice, along_x, drains):
        sizes = tuple(sorted((across, along) for _, _, across, along in laying.pieces))
        unlike.setdefault((laying.clear, sizes), laying)
    rows = list(unlike.values())
    order = sorted(range(len(rows)), key=lambda at: (not rows[at].clear, rows[at].rolled_mm2, at))
    return [rows[at] for at in order[:MOST_WAYS]]


def _laid(
    face: Face, roll: Roll, practice: Practice, along_x: bool, drains: Sequence[DrainSpot]
) -> Iterator[Laying]:
    shape = shape_of(face.outline, face.holes)
    x0, y0, x1, y1 = shape.bounds
    low, high = (y0, y1) if along_x else (x0, x1)
    width, lap = float(roll.width_mm), float(practice.side_lap.mm)
    check_runs(face.label, high - low, roll, lap)
    least = min(float(practice.least_rip.mm), width)
    spots = [_span(drain, along_x, float(practice.drain_clearance.mm)) for drain in drains]
    axis = 1 if along_x else 0
    corners = sorted(
        {
            round(point[axis], 4)
            for ring in (shape.exterior, *shape.interiors)
            for point in ring.coords
            if low + _EPS < point[axis] < high - _EPS
        }
    )
    for first in _firsts(low, high, width, lap, least, corners, spots):
        runs = _at(low, high, width, lap, least, first)
        pieces = []
        for course, (start, end) in enumerate(runs, 1):
            band = rectangle(x0, start, x1, end) if along_x else rectangle(start, y0, end, y1)
            before = runs[course - 2][1] if course > 1 else None
            for piece in parts(shape.intersection(band)):
                if before is not None and piece.bounds[axis + 2] <= before + _EPS:
                    continue  # lies wholly under the lap of the run before, which covers it
                for part in _lengths(piece, along_x, roll, practice, course):
                    pieces.append((course, part, *_size(part, along_x)))
        yield Laying(face, roll, along_x, len(runs), _clear(runs, spots), tuple(pieces))


def _size(part: Shape, along_x: bool) -> tuple[Decimal, Decimal]:
    """Return across and along of the rectangle a part is cut from."""
    x0, y0, x1, y1 = part.bounds
    width, height = on_grid(x1 - x0), on_grid(y1 - y0)
    return (height, width) if along_x else (width, height)


def _span(drain: DrainSpot, along_x: bool, clearance: float) -> Interval:
    centre = drain.y if along_x else drain.x
    return (centre - drain.radius - clearance, centre + drain.radius + clearance)


def _firsts(
    low: float,
    high: float,
    width: float,
    lap: float,
    least: float,
    corners: Sequence[float],
    drains: Sequence[Interval],
) -> list[float]:
    """Return the widths of the first run worth trying, the plain one first; clear of drains before others.

    Where the plain one is not clear, the first clear one of the least shift comes before it.
    """
    if not corners and not drains:
        return [width]  # wherever the narrow sheet lies, the pieces are the same
    step = width - lap
    runs = _at(low, high, width, lap, least, width)
    wanted = [width, high - low - (len(runs) - 1) * step]
    ends = [*corners, *(start for start, _ in drains)]
    begins = [*corners, *(end for _, end in drains)]
    for edge in (*ends, *(begin + lap for begin in begins)):
        # The run whose end is moved to this edge, back to the first one.
        offset = (edge - low) % step
        wanted += [offset, offset + step]
    firsts = list(dict.fromkeys(round(at, 4) for at in wanted if least - 1e-6 <= at <= width + 1e-6))
    plain = firsts[0]
    if drains and not _clear(runs, drains):
        clear = [first for first in firsts if _clear(_at(low, high, width, lap, least, first), drains)]
        if clear:
            plain = max(clear)
    return [plain, *(first for first in firsts if first != plain)]


def _at(low: float, high: float, width: float, lap: float, least: float, first: float) -> list[Interval]:
    """Return the runs when the first is *first* wide and all others *width*, the last as narrow as fits."""
    runs = [(low, min(low + first, high))]
    while runs[-1][1] < high - _EPS:
        start = runs[-1][1] - lap
        end = min(start + width, high)
        if end >= high - _EPS and end - start < least:
            start = max(end - least, end - width)
        runs.append((start, end))
    return runs


def _clear(runs: Sequence[Interval], drains: Sequence[Interval]) -> bool:
    seams = [(after[0], before[1]) for before, after in itertools.pairwise(runs)]
    return all(end <= low + _EPS or start >= high - _EPS for start, end in seams for low, high in drains)


def _lengths(piece: Shape, along_x: bool, roll: Roll, practice: Practice, course: int) -> Iterator[Shape]:
    """Yield a piece in lengths that a roll yields, lapped end to end.

    Every second course begins shorter, so that the end laps of neighbours are staggered and no four sheets
    meet in one corner.
    """
    x0, y0, x1, y1 = piece.bounds
    low, high = (x0, x1) if along_x else (y0, y1)
    longest = float(roll.length_mm - practice.trim.mm)
    if high - low <= longest + 0.001:
        yield piece
        return
    lap, least = float(practice.butt_lap.mm), float(practice.least_rip.mm)
    stagger = float(practice.butt_stagger.mm) if course % 2 == 0 else 0.0
    first = longest - stagger if longest - stagger > max(lap, least) else longest
    for start, end in _at(low, high, longest, lap, least, first):
        band = rectangle(start, y0, end, y1) if along_x else rectangle(x0, start, x1, end)
        yield from parts(piece.intersection(band))
