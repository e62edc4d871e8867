"""Grout by the joints between the tiles."""

from __future__ import annotations

from decimal import Decimal

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from ..practice import put
from ..units import Measure, System
from ..working import Figure, Origin, Working

# Volume per area. First order: each tile owns half the joints round it, (A + B) / (A B) of joint length per
# area, crossings counted twice; it is what data sheets print and errs on the safe side. Exact: what the
# tile does not cover of its module. A hexagon F across the flats gives both with A = B = F, since its
# edges sum to 2 sqrt(3) F and its face is sqrt(3)/2 F^2.
FIRST_ORDER = "(W + H) / (W * H) * D * J"
EXACT = "D * (1 - W * H / ((W + J) * (H + J)))"

# What can be wrong with grout, for the message.
_NAMES = {
    "tile": gettext_noop("tile size"),
    "joint": gettext_noop("joint width"),
    "depth": gettext_noop("joint depth"),
    "density": gettext_noop("density"),
    "waste": gettext_noop("waste"),
}


def grout_volume(
    key: str,
    area: Measure,
    tile: tuple[Measure, Measure],
    joint: Measure,
    depth: Measure,
    system: System,
    *,
    exact: bool = False,
    waste: Decimal = Decimal(0),
    area_origin: Origin = Origin.COMPUTED,
) -> Figure:
    """Return the wet grout, cu in or L.

    Args:
        area: grouted area.
        tile: its width and height; for a hexagon its width across the flats, twice; for mosaic one chip.
        joint: width. *depth*: of the joint, the tile's thickness where nothing else is known.
        exact: by the exact form instead of the first-order form that data sheets use.
        waste: fraction added.

    Raises:
        DomainError: a size not above zero, or waste below zero (rule ``setting.grout``).
    """
    label = phrase(gettext_noop("Wet grout"))
    work = Working(key, label)
    _add_volume(work, area, tile, joint, depth, system, exact, waste, area_origin)
    return work.figure()


def grout(
    key: str,
    area: Measure,
    tile: tuple[Measure, Measure],
    joint: Measure,
    depth: Measure,
    density: Measure,
    system: System,
    *,
    exact: bool = False,
    waste: Decimal = Decimal(0),
    area_origin: Origin = Origin.COMPUTED,
) -> Figure:
    """Return the grout's mass, lb or kg: volume of the joints times *density* of the mixed grout.

    Arguments and errors as :func:`grout_volume`; the density comes from the data sheet (cement grout about
    1.6 kg/L, from memory).
    """
    if density.value <= 0:
        raise _bad("density", density)
    work = Working(key, phrase(gettext_noop("Grout")))
    _add_volume(work, area, tile, joint, depth, system, exact, waste, area_origin)
    per = "lb/cu in" if system is System.INCH else "kg/L"
    put(work, "r", phrase(gettext_noop("Density of the mixed grout")), density, per, Origin.DATA_SHEET)
    work.step("m", phrase(gettext_noop("Grout")), "V * r", system.mass)
    return work.figure()


def _add_volume(
    work: Working,
    area: Measure,
    tile: tuple[Measure, Measure],
    joint: Measure,
    depth: Measure,
    system: System,
    exact: bool,
    waste: Decimal,
    area_origin: Origin,
) -> None:
    for name, size in (("tile", tile[0]), ("tile", tile[1]), ("joint", joint), ("depth", depth)):
        if size.value <= 0:
            raise _bad(name, size)
    if waste < 0:
        raise _bad("waste", Measure(waste, ""))
    unit, sheet = system.length, Origin.DATA_SHEET
    put(work, "A", phrase(gettext_noop("Tiled area")), area, system.area, area_origin)
    put(work, "W", phrase(gettext_noop("Tile width")), tile[0], unit, sheet)
    put(work, "H", phrase(gettext_noop("Tile height")), tile[1], unit, sheet)
    put(work, "J", phrase(gettext_noop("Joint width")), joint, unit, Origin.ENTERED)
    put(work, "D", phrase(gettext_noop("Joint depth")), depth, unit, sheet)
    work.step(
        "v", phrase(gettext_noop("Joints, as a depth over the area")), EXACT if exact else FIRST_ORDER, unit
    )
    work.given("w", phrase(gettext_noop("Waste, fraction")), waste, "", Origin.PRACTICE)
    # 1 sq ft by 1 in is 144 cu in; 1 sq m by 1 mm is 1 L.
    if system is System.INCH:
        work.step("V", phrase(gettext_noop("Wet grout")), "A * 144 * v * (1 + w)", "cu in")
    else:
        work.step("V", phrase(gettext_noop("Wet grout")), "A * v * (1 + w)", "L")


def _bad(name: str, size: Measure) -> DomainError:
    return DomainError(
        phrase(
            gettext_noop("Grout cannot be computed with a {name} of {value} {unit}."),
            name=phrase(_NAMES[name]),
            value=str(size.value),
            unit=size.unit,
        ),
        rule="setting.grout",
        place=name,
        value=size.value,
    )
