"""Tile on the faces of a room, with its mortar, grout and movement joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache

from .assembly import Assembly
from .errors import DomainError
from .faces import Placed
from .model import Accent, Exposure, Material, Pattern, Role, Surface, SurfaceKind, TileChoice
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice
from .result import Lie, TiledFace, TilePart
from .setting import (
    Trowel,
    bed_warnings,
    grout,
    mortar_by_coverage,
    movement_joint_length,
    pressed_bed,
    trowel_for,
)
from .shelf import Shelf
from .space import area_mm2, on_grid, shape_of
from .sums import sum_of, total
from .tiling import (
    BorderedLayout,
    Region,
    TileLayout,
    TileSpec,
    lay_tiles,
    lay_with_border,
    with_accent,
)
from .tiling.spec import BONDS, Bond
from .units import Measure, System, convert
from .working import Figure, Origin, Working


@dataclass(frozen=True)
class Laid:
    """A tiled face with its tile and layout."""

    placed: Placed
    tile: Material
    layout: TileLayout
    part: TilePart = TilePart.FIELD
    own_area: Figure | None = None  # of a part of the face
    own_label: Phrase | None = None

    @property
    def label(self) -> Phrase:
        return self.own_label or self.placed.label

    @property
    def joint_mm(self) -> Decimal:
        return self.layout.spec.joint_mm

    @property
    def trowel(self) -> Trowel:
        """What the mortar is combed with, by the longest edge of what is laid at once: a chip, for mosaic."""
        facts = self.tile.facts
        return trowel_for(max((facts["width"], facts["height"]), key=lambda side: side.to("mm")))

    @property
    def area(self) -> Figure:
        assert self.placed.face.area is not None
        return self.own_area or self.placed.face.area


@dataclass(frozen=True)
class Bed:
    """The bed a tile's trowel leaves, and what is wrong with it."""

    tile: Material
    figure: Figure
    warnings: tuple[Phrase, ...]


@dataclass(frozen=True)
class RoomTile:
    """What tile asks for in one room. *counts*: tiles by material; figures before waste and packs."""

    laid: tuple[Laid, ...]
    counts: tuple[tuple[Material, Figure], ...]
    mortar: Figure | None
    grout: Figure | None
    joints: Figure | None
    joint_sealant: Figure | None
    trim: Figure | None
    beds: tuple[Bed, ...] = ()

    @property
    def tiled(self) -> tuple[TiledFace, ...]:
        return tuple(
            TiledFace(one.placed.face.key, one.tile.key, one.layout, one.trowel, one.part)
            for one in self.laid
        )


def tile_room(assembly: Assembly, shelf: Shelf, practice: Practice, system: System) -> RoomTile:
    """Lay out the tile of one room.

    Raises:
        DomainError: an unknown tile, a tile bigger than the room, or what :func:`lay_tiles` refuses; *place*
            is the surface's path in the room.
    """
    laid: list[Laid] = []
    accented: set[str] = set()
    for placed in assembly.placed:
        if placed.surface.tile is None:
            continue
        place = f"surfaces[{assembly.room.surfaces.index(placed.surface)}].tile"
        try:
            parts = _lay(assembly, placed, placed.surface.tile, shelf, practice, system, accented)
            laid.extend(parts)
        except DomainError as error:
            raise error.at(place) from error
    for surface in assembly.room.surfaces:
        wanted = surface.tile is not None and surface.tile.accent is not None
        if wanted and surface.key not in accented:
            raise _no_accent(assembly, surface)
    if not laid:
        return RoomTile((), (), None, None, None, None, None)
    room = assembly.room
    joints = joint_length(assembly, laid, practice, system)
    return RoomTile(
        tuple(laid),
        _counts(room.key, laid),
        _mortar(room.key, laid, shelf.need(Role.MORTAR, room.name), practice, system),
        _grout(room.key, laid, shelf.need(Role.GROUT, room.name), system),
        joints,
        joint_volume(room.key, joints, practice, system),
        _trim(assembly, laid, system),
        _beds(room.key, laid, practice, system),
    )


def _beds(room: str, laid: Sequence[Laid], practice: Practice, system: System) -> tuple[Bed, ...]:
    """Return the bed under each tile of the room, by the notch of its trowel and the angle it is held at."""
    by_tile = {one.tile.key: one for one in laid}
    angle = practice.trowel_angle
    found = []
    for key, one in by_tile.items():
        label = phrase(gettext_noop("Mortar bed under {tile}"), tile=one.tile.name)
        bed = pressed_bed(f"{room}.{key}.bed", label, one.trowel.notch, angle.value, angle.source, system)
        large = one.trowel.large_tile_mortar
        # A back that is coated as well makes up for a thin bed.
        warnings = () if one.trowel.back_butter else bed_warnings(bed, large_tile_mortar=large)
        found.append(Bed(one.tile, bed, warnings))
    return tuple(found)


def _lay(
    assembly: Assembly,
    placed: Placed,
    choice: TileChoice,
    shelf: Shelf,
    practice: Practice,
    system: System,
    accented: set[str],
) -> list[Laid]:
    """Return what is laid on a face: the field, and its border and accent where these are chosen.

    *accented*: keys of the surfaces whose accent lies already; this face's is added.
    """
    tile = shelf.tile(choice.material, placed.surface.name)
    spec = _spec(tile, choice.pattern, choice.joint_mm, practice, system)
    _refuse_bigger_than_room(assembly, placed, spec, tile)
    name = str(phrase("{room}, {face}", room=assembly.room.name, face=placed.label))
    region = Region(placed.face.outline, placed.face.holes, name)
    if choice.border is None and choice.accent is None:
        return [Laid(placed, tile, _laid_out(region, spec))]
    parts: list[tuple[TilePart, Material, TileLayout, Phrase]] = []
    accent = choice.accent
    if accent is not None and placed.surface.key not in accented and _fits(placed, accent):
        accented.add(placed.surface.key)
        region, inlay = with_accent(region, _rectangle(placed, accent), spec.joint_mm)
        other = shelf.tile(accent.material, placed.surface.name)
        laid = _laid_out(inlay, _spec(other, accent.pattern, choice.joint_mm, practice, system, inlaid=True))
        label = phrase(gettext_noop("{face}: accent"), face=placed.label)
        parts.append((TilePart.ACCENT, other, laid, label))
    if choice.border is not None:
        edge = shelf.tile(choice.border, placed.surface.name)
        bordered = _bordered(region, spec, _lengthwise(_spec(edge, Pattern.STRAIGHT, None, practice, system)))
        parts += [
            (
                TilePart.BORDER,
                edge,
                run,
                phrase(gettext_noop("{face}: border, side {number}"), face=placed.label, number=number),
            )
            for number, run in enumerate(bordered.runs, 1)
        ]
        field = bordered.field
    else:
        field = _laid_out(region, spec)
    parts.insert(0, (TilePart.FIELD, tile, field, phrase(gettext_noop("{face}: field"), face=placed.label)))
    return [
        Laid(placed, material, layout, part, _part_area(placed, layout, label, number, system), label)
        for number, (part, material, layout, label) in enumerate(parts, 1)
    ]


def _fits(placed: Placed, accent: Accent) -> bool:
    shape = placed.shape.buffer(-1)
    return bool(shape.contains(shape_of(_rectangle(placed, accent))))


def _rectangle(placed: Placed, accent: Accent) -> tuple[tuple[Decimal, Decimal], ...]:
    x0, y0 = (on_grid(value) for value in placed.shape.bounds[:2])
    left, low = x0 + accent.along_mm, y0 + accent.base_mm
    right, high = left + accent.width_mm, low + accent.height_mm
    return ((left, low), (right, low), (right, high), (left, high))


def _no_accent(assembly: Assembly, surface: Surface) -> DomainError:
    at = assembly.room.surfaces.index(surface)
    return DomainError(
        phrase(
            gettext_noop("{room}: the accent does not lie wholly on any face of {surface}."),
            room=assembly.room.name,
            surface=surface.name,
        ),
        rule="tiling.accent",
        place=f"surfaces[{at}].tile.accent",
    )


def _part_area(placed: Placed, layout: TileLayout, label: Phrase, number: int, system: System) -> Figure:
    """Return the true area of a part of a face: the face's, by the part's share of its plan."""
    region = layout.region
    plan = area_mm2(region.outer) - sum((area_mm2(hole) for hole in region.holes), Decimal(0))
    face = placed.face
    whole = area_mm2(face.outline) - sum((area_mm2(hole) for hole in face.holes), Decimal(0))
    assert face.area is not None
    work = Working(f"{face.key}.part.{number}", label)
    work.carry("A", phrase(gettext_noop("The whole face")), face.area)
    work.given(
        "p",
        phrase(gettext_noop("Share of this part, by the coordinates of its corners")),
        (plan / whole).quantize(Decimal(1).scaleb(-12)),
        "",
        Origin.GEOMETRY,
    )
    work.step("P", label, "A * p", system.area)
    return work.figure()


def _lengthwise(spec: TileSpec) -> TileSpec:
    """Return a border tile lying along its side: its longer edge is its width."""
    wide, high = max(spec.width_mm, spec.height_mm), min(spec.width_mm, spec.height_mm)
    return replace(spec, width_mm=wide, height_mm=high)


def _spec(
    tile: Material,
    wanted: Pattern,
    joint_mm: Decimal | None,
    practice: Practice,
    system: System,
    *,
    inlaid: bool = False,
) -> TileSpec:
    """Return how *tile* is laid; *inlaid*: within other tile, so without a gap at its edge."""
    facts = {name: measure.to("mm") for name, measure in tile.facts.items()}
    bond, offset = BONDS[wanted.value]
    sheet = (facts.get("sheet width"), facts.get("sheet height"))
    if sheet[0] and sheet[1]:
        bond, offset = Bond.MOSAIC, Decimal(0)  # what comes on sheets is laid and bought by the sheet
    return TileSpec(
        width_mm=facts["width"],
        height_mm=facts["height"],
        joint_mm=joint_mm if joint_mm is not None else facts["joint"],
        pattern=bond,
        offset_fraction=offset,
        breakage=practice.tile_breakage.number,
        sheet_width_mm=sheet[0] or None,
        sheet_height_mm=sheet[1] or None,
        edge_joint_mm=Decimal(0) if inlaid else practice.edge_gap.mm,
        kerf_mm=practice.saw_kerf.mm,
        system=system,
    )


@lru_cache(maxsize=64)
def _bordered(region: Region, spec: TileSpec, border: TileSpec) -> BorderedLayout:
    return lay_with_border(region, spec, border)


@lru_cache(maxsize=256)
def _laid_out(region: Region, spec: TileSpec) -> TileLayout:
    # A page that is typed into takes the same rooms off again and again; most faces have not changed.
    return lay_tiles(region, spec)


def _refuse_bigger_than_room(assembly: Assembly, placed: Placed, spec: TileSpec, tile: Material) -> None:
    if placed.surface.kind not in (SurfaceKind.FLOOR, SurfaceKind.SHOWER_FLOOR):
        return
    x0, y0, x1, y1 = placed.shape.bounds
    short, long = sorted((x1 - x0, y1 - y0))
    small, large = sorted((float(spec.unit_width_mm), float(spec.unit_height_mm)))
    if small > short or large > long:
        raise DomainError(
            phrase(
                gettext_noop("{room}: one tile of {tile} is bigger than {face}; check the tile's size."),
                room=assembly.room.name,
                tile=tile.name,
                face=placed.label,
            ),
            rule="tile.bigger-than-room",
            room=assembly.room.key,
            material=tile.key,
        )


def _counts(room: str, laid: Sequence[Laid]) -> tuple[tuple[Material, Figure], ...]:
    by_tile: dict[str, list[Laid]] = {}
    for one in laid:
        by_tile.setdefault(one.tile.key, []).append(one)
    return tuple(
        (
            rows[0].tile,
            total(
                f"{room}.{key}",
                phrase(gettext_noop("{material} in this room"), material=rows[0].tile.name),
                [(one.label, one.layout.needed) for one in rows],
                "each",
            ),
        )
        for key, rows in by_tile.items()
    )


def tiled_area(key: str, label: Phrase, laid: Sequence[Laid], system: System) -> Figure:
    """Return the sum of the tiled faces' areas."""
    return total(key, label, [(one.label, one.area) for one in laid], system.area)


def _mortar(room: str, laid: Sequence[Laid], mortar: Material, practice: Practice, system: System) -> Figure:
    """Return the bags of mortar; tile whose back is coated as well takes the practice's fraction more."""
    rows = []
    for number, is_coated in enumerate((False, True), 1):
        some = [one for one in laid if one.trowel.back_butter is is_coated]
        if not some:
            continue
        label = phrase(gettext_noop("Tile with coated backs")) if is_coated else phrase(gettext_noop("Tile"))
        area = tiled_area(f"{room}.tiled", phrase(gettext_noop("Tiled area")), some, system)
        key = f"{room}.{mortar.key}" if len(some) == len(laid) else f"{room}.{mortar.key}.{number}"
        more = practice.back_butter.number if is_coated else Decimal(0)
        measure = Measure(area.value, area.unit)
        rows.append(
            (label, mortar_by_coverage(key, measure, mortar.facts["coverage"], system, back_butter=more))
        )
    if len(rows) == 1:
        return rows[0][1]
    return total(f"{room}.{mortar.key}", phrase(gettext_noop("Mortar in this room")), rows, "each")


def _grout(room: str, laid: Sequence[Laid], material: Material, system: System) -> Figure:
    groups: dict[tuple[str, Decimal], list[Laid]] = {}
    for one in laid:
        groups.setdefault((one.tile.key, one.joint_mm), []).append(one)
    rows = []
    for number, group in enumerate(groups.values(), 1):
        tile = group[0].tile
        area = tiled_area(f"{room}.grout.{number}.area", phrase(gettext_noop("Tiled area")), group, system)
        is_hexagon = group[0].layout.spec.pattern is Bond.HEXAGON
        width = tile.facts["width"]
        joint = group[0].joint_mm
        given = tile.facts["joint"] if tile.facts["joint"].to("mm") == joint else Measure(joint, "mm")
        rows.append(
            (
                phrase(gettext_noop("Grout between {tile}"), tile=tile.name),
                grout(
                    f"{room}.grout.{number}",
                    Measure(area.value, area.unit),
                    (width, width if is_hexagon else tile.facts["height"]),
                    given,
                    tile.facts["thickness"],
                    material.facts["density"],
                    system,
                ),
            )
        )
    if len(rows) == 1:
        return rows[0][1]
    return total(f"{room}.{material.key}", phrase(gettext_noop("Grout in this room")), rows, system.mass)


# --- Movement joints and edges ----------------------------------------------------------------------------


def joint_length(assembly: Assembly, laid: Sequence[Laid], practice: Practice, system: System) -> Figure:
    """Return the length of movement joints: perimeter, changes of plane, and field joints by exposure."""
    tiled = {one.placed.face.key for one in laid}
    edge = plane = Decimal(0)
    for change in assembly.changes:
        both = [key in tiled for key in change.faces if key is not None]
        if not change.inside or not any(both):
            continue
        if len(both) == 2 and all(both):
            plane += change.length_mm
        else:
            edge += change.length_mm
    field = _field(laid)
    x0, y0, x1, y1 = field.placed.shape.bounds
    is_wet = field.placed.surface.exposure is Exposure.WET
    spacing = practice.joint_spacing_wet if is_wet else practice.joint_spacing_dry
    return movement_joint_length(
        f"{assembly.room.key}.joints",
        _in_run(edge, system),
        _in_run(plane, system),
        (_in_run(Decimal(str(round(x1 - x0, 4))), system), _in_run(Decimal(str(round(y1 - y0, 4))), system)),
        spacing.value,
        system,
        source=spacing.source,
    )


def _field(laid: Sequence[Laid]) -> Laid:
    """Return the face whose size decides on field joints: the largest level one, else the largest."""
    return max(laid, key=lambda one: (one.placed.face.lie is Lie.LEVEL, one.placed.shape.area))


def _in_run(mm: Decimal, system: System) -> Measure:
    return Measure(convert(mm, "mm", system.run), system.run)


def joint_volume(room: str, length: Figure, practice: Practice, system: System) -> Figure:
    """Return the sealant that fills the movement joints: width times depth times length."""
    small = system.length
    work = Working(f"{room}.joint sealant", phrase(gettext_noop("Movement joint sealant in this room")))
    work.carry("L", phrase(gettext_noop("Length of movement joints")), length)
    practice.put(work, "w", "joint_width", small)
    practice.put(work, "d", "joint_depth", small)
    label = phrase(gettext_noop("Volume of the joints"))
    if system is System.INCH:
        work.given(
            "z",
            phrase(gettext_noop("Cubic inches in a fluid ounce")),
            Decimal("1.8046875"),
            "cu in",
            Origin.STANDARD,
            phrase(gettext_noop("US gallon of 231 cu in / 128")),
        )
        work.step("V", label, "w * d * L * 12 / z", "fl oz")
    else:
        work.step("V", label, "w * d * L", "ml")
    return work.figure()


def _trim(assembly: Assembly, laid: Sequence[Laid], system: System) -> Figure:
    """Return the length of outside edges of tile, which take an edge profile."""
    tiled = {one.placed.face.key for one in laid}
    return sum_of(
        f"{assembly.room.key}.edge profiles",
        phrase(gettext_noop("Edge profiles on outside edges of tile")),
        [
            (change.label, convert(change.length_mm, "mm", system.run))
            for change in assembly.changes
            if not change.inside and any(key in tiled for key in change.faces)
        ],
        system.run,
    )
