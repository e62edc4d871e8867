"""The counts of a layout with their working, and what should be said about it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..lengths import format_length
from ..phrases import Phrase, gettext_noop, phrase
from ..setting.rules import least_joint, most_offset
from ..units import Measure
from ..working import Figure, Origin, Round, Working
from .judge import Verdict
from .spec import Bond, Region, TileSpec

A_THIRD = Decimal("0.004")  # a third bond is what "33 %" means on site, so 0.3333 passes
SOFT_METRIC_MM = Decimal("0.2")  # 3 mm is laid for 1/8 in, 1.5 mm for 1/16 in
SLIVER = Decimal("0.1")  # of a tile, by area; common practice, no source


@dataclass(frozen=True)
class Counts:
    """What the geometry gave: places covered, of them by full tiles, and tiles opened for the cut pieces."""

    places: int
    full: int
    opened: int
    area_mm2: Decimal


@dataclass(frozen=True)
class LayoutFigures:
    full: Figure
    cut: Figure
    from_offcuts: Figure
    needed: Figure
    breakage: Figure
    buy: Figure
    waste: Figure


def figures_of(counts: Counts, spec: TileSpec) -> LayoutFigures:
    """Return the counts as figures; each one's working starts from what the layout gave."""
    sheets = spec.pattern is Bond.MOSAIC
    need = phrase(gettext_noop("Sheets needed") if sheets else gettext_noop("Tiles needed"))
    buy = phrase(gettext_noop("Sheets to buy") if sheets else gettext_noop("Tiles to buy"))
    whole = phrase(gettext_noop("Full sheets") if sheets else gettext_noop("Full tiles"))
    extra = phrase(gettext_noop("Breakage allowance"))
    pieces = phrase(gettext_noop("Cut pieces"))
    reused = phrase(gettext_noop("Pieces from offcuts"))

    def start(key: str, label: Phrase) -> Working:
        working = Working(f"tile.{key}", label)
        layout = phrase(gettext_noop("tile layout"))
        working.given(
            "n", phrase(gettext_noop("Places in the layout")), counts.places, "each", Origin.GEOMETRY, layout
        )
        working.given("f", whole, counts.full, "each", Origin.GEOMETRY, layout)
        return working

    def pieces_cut(working: Working) -> Working:
        working.step("c", pieces, "n - f", "each")
        working.given(
            "t",
            phrase(gettext_noop("Tiles opened for the cut pieces")),
            counts.opened,
            "each",
            Origin.GEOMETRY,
            phrase(gettext_noop("cutting pieces from tiles")),
        )
        return working

    def needed(working: Working) -> Working:
        pieces_cut(working)
        working.step("o", reused, "c - t", "each")
        working.step("N", need, "f + c - o", "each")
        return working

    def spare(working: Working) -> Working:
        needed(working)
        working.given(
            "b",
            phrase(gettext_noop("Breakage, fraction of the tiles needed")),
            spec.breakage,
            "",
            Origin.PRACTICE,
        )
        working.step("e", extra, "ceil(N * b)", "each", Round.UP_WHOLE)
        return working

    full = Working("tile.full", whole)
    full.given(
        "f", whole, counts.full, "each", Origin.GEOMETRY, phrase(gettext_noop("places a whole tile fits"))
    )
    cut = start("cut", pieces)
    cut.step("c", pieces, "n - f", "each")
    offcut = pieces_cut(start("offcuts", reused))
    offcut.step("o", reused, "c - t", "each")
    purchase = spare(start("buy", buy))
    purchase.step("T", buy, "N + e", "each")
    waste = spare(start("waste", phrase(gettext_noop("Tile bought beyond the tile laid"))))
    waste.given("A", phrase(gettext_noop("Tile laid")), counts.area_mm2, "sq mm", Origin.GEOMETRY)
    waste.given("a", phrase(gettext_noop("Face of one tile")), unit_area(spec), "sq mm", Origin.DATA_SHEET)
    waste.step(
        "w", phrase(gettext_noop("Fraction bought beyond")), "(N + e) * a / A - 1", "", Round.HALF_UP, 4
    )
    return LayoutFigures(
        full.figure(),
        cut.figure(),
        offcut.figure(),
        needed(start("needed", need)).figure(),
        spare(start("breakage", extra)).figure(),
        purchase.figure(),
        waste.figure(),
    )


def tiles_by_division(key: str, area: Measure, spec: TileSpec, waste: Decimal) -> Figure:
    """Return area / module, with waste, rounded up: the quick count to hold a layout against.

    A layout is what is bought; this tells whether its count is plausible. Source: geometry; allowances for
    waste are trade habit (straight 10 %, diagonal 15 %, herringbone 20 %).
    """
    label = phrase(gettext_noop("Tiles by area"))
    work = Working(key, label)
    work.given("A", phrase(gettext_noop("Tiled area")), area.to("sq mm"), "sq mm", Origin.COMPUTED)
    work.given("a", phrase(gettext_noop("Tile width")), spec.unit_width_mm, "mm", Origin.DATA_SHEET)
    work.given("b", phrase(gettext_noop("Tile height")), spec.unit_height_mm, "mm", Origin.DATA_SHEET)
    work.given("g", phrase(gettext_noop("Joint width")), spec.joint_mm, "mm", Origin.ENTERED)
    module = "(a + g)**2 * sqrt(3) / 2" if spec.pattern is Bond.HEXAGON else "(a + g) * (b + g)"
    work.step("M", phrase(gettext_noop("Tile with its share of the joints")), module, "sq mm")
    work.given("w", phrase(gettext_noop("Waste, fraction")), waste, "", Origin.PRACTICE)
    work.step("N", label, "ceil(A / M * (1 + w))", "each", Round.UP_WHOLE)
    return work.figure()


def unit_area(spec: TileSpec) -> Decimal:
    """Return the face of one tile or sheet, mm2 (a regular hexagon: sqrt(3)/2 times its width squared)."""
    if spec.pattern is Bond.HEXAGON:
        return (spec.width_mm**2 * Decimal(3).sqrt() / 2).quantize(Decimal("0.0001"))
    return spec.unit_width_mm * spec.unit_height_mm


def warnings_of(
    region: Region, spec: TileSpec, smallest: Decimal | None, verdict: Verdict, fits_none: bool
) -> tuple[Phrase, ...]:
    """Return what an installer should know before laying; nothing here stops the work."""
    found: list[Phrase] = []
    longest = max(spec.width_mm, spec.height_mm)
    if fits_none:
        found.append(
            phrase(
                gettext_noop("{room}: the tile ({tile}) is larger than the face; every tile is cut."),
                room=region.name,
                tile=f"{_length(spec.unit_width_mm, spec)} x {_length(spec.unit_height_mm, spec)}",
            )
        )
    if smallest is not None and not spec.pattern.is_square_cut and smallest < SLIVER:
        found.append(
            phrase(
                gettext_noop(
                    "{room}: the smallest piece is {smallest} % of a tile; pieces that small are hard to cut "
                    "and to hold."
                ),
                room=region.name,
                smallest=_plain((smallest * 100).quantize(Decimal("0.1"))),
            )
        )
    if smallest is not None and spec.pattern.is_square_cut and verdict.undersized:
        everywhere = gettext_noop(
            "{room}: no start point tried keeps every cut at {wanted} % of a tile; the smallest is "
            "{smallest} %. (ANSI A108.02 4.3.2: usually no cut under half a tile.)"
        )
        inside = gettext_noop(
            "{room}: cuts at the outer sides keep {wanted} % of a tile; at an inner edge the smallest is "
            "{smallest} %. (ANSI A108.02 4.3.2: usually no cut under half a tile.)"
        )
        found.append(
            phrase(
                everywhere if verdict.severity[0] else inside,
                room=region.name,
                wanted=_plain(spec.smallest_fraction * 100),
                smallest=_plain((smallest * 100).quantize(Decimal(1))),
            )
        )
    limit = most_offset(Measure(longest, "mm")) if spec.pattern is Bond.OFFSET else None
    shift = min(spec.offset_fraction, 1 - spec.offset_fraction)
    if limit and shift > limit.value.value + A_THIRD and not spec.allow_large_offset:
        found.append(
            phrase(
                gettext_noop(
                    "{room}: an offset of {offset} % with a tile edge over 15 in needs an approved mock-up; "
                    "otherwise keep to 33 %. ({source})"
                ),
                room=region.name,
                offset=_plain((spec.offset_fraction * 100).quantize(Decimal(1))),
                source=limit.source,
            )
        )
    bond_edge = Measure(longest, "mm") if spec.pattern is Bond.OFFSET else None
    joint = least_joint(running_bond_edge=bond_edge)
    if spec.pattern is not Bond.MOSAIC and spec.joint_mm < joint.mm - SOFT_METRIC_MM:
        found.append(
            phrase(
                gettext_noop(
                    "{room}: a joint of {joint} is under the {least} that keeps lippage within limits here "
                    "({source}; more where the tile's sizes or edges vary)."
                ),
                room=region.name,
                joint=_length(spec.joint_mm, spec),
                least=_length(joint.mm, spec),
                source=joint.source,
            )
        )
    return tuple(found)


def _length(mm: Decimal, spec: TileSpec) -> str:
    return format_length(mm, spec.system, style="piece")


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
