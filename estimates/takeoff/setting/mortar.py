"""Mortar for tile: by the data sheet's coverage, or by the notch of the trowel."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..practice import put
from ..units import Measure, System
from ..working import Figure, Origin, Working
from .notch import Notch, NotchShape, add_bed
from .rules import LONG_EDGE, bed_limits

BAGS = phrase(gettext_noop("Mortar, bags"))
_AREA = phrase(gettext_noop("Tiled area"))


def mortar_by_coverage(
    key: str,
    area: Measure,
    coverage: Measure,
    system: System,
    *,
    waste: Decimal = Decimal(0),
    back_butter: Decimal = Decimal(0),
    area_origin: Origin = Origin.COMPUTED,
) -> Figure:
    """Return the bags of mortar (not rounded: bags are rounded up once for the job).

    Args:
        area: to be tiled.
        coverage: area a bag covers with its trowel, such as 85 sq ft/each.
        waste: fraction added. *back_butter*: fraction added for the coat on the tile's back.

    Raises:
        DomainError: coverage not above zero (``setting.coverage``), negative waste (``setting.fraction``).
    """
    _positive(coverage, "setting.coverage", phrase(gettext_noop("coverage of a bag")))
    work = Working(key, BAGS)
    put(work, "A", _AREA, area, system.area, area_origin)
    put(
        work,
        "c",
        phrase(gettext_noop("Area a bag covers")),
        coverage,
        f"{system.area}/each",
        Origin.DATA_SHEET,
    )
    _fractions(work, waste, back_butter)
    work.step("M", BAGS, "A / c * (1 + k) * (1 + w)", "each")
    return work.figure()


def mortar_by_notch(
    key: str,
    area: Measure,
    notch: Notch,
    bag_yield: Measure,
    system: System,
    *,
    angle_deg: Decimal = Decimal(45),
    back_coat: Measure | None = None,
    waste: Decimal = Decimal(0),
    area_origin: Origin = Origin.COMPUTED,
) -> Figure:
    """Return the bags of mortar from the trowel's geometry (not rounded).

    Args:
        bag_yield: wet volume of one bag, such as 0.60 cu ft/each.
        angle_deg: of the trowel to the floor; 45 is how it is mostly held (common practice, no source).
        back_coat: thickness of the coat on the tile's back where it is back-buttered.

    Raises:
        DomainError: those of :func:`~.notch.add_bed`; yield not above zero (``setting.yield``), negative
            waste (``setting.fraction``).
    """
    _positive(bag_yield, "setting.yield", phrase(gettext_noop("yield of a bag")))
    work = Working(key, BAGS)
    put(work, "A", _AREA, area, system.area, area_origin)
    add_bed(work, notch, angle_deg, system)
    put(
        work,
        "s",
        phrase(gettext_noop("Coat on the tile's back")),
        back_coat or Measure(Decimal(0), system.length),
        system.length,
        Origin.PRACTICE,
    )
    volume = "cu ft" if system is System.INCH else "L"
    # 1 sq ft by 1 in is 1/12 cu ft; 1 sq m by 1 mm is 1 L.
    formula = "A * (t + s) / 12" if system is System.INCH else "A * (t + s)"
    work.step("V", phrase(gettext_noop("Wet mortar")), formula, volume)
    put(
        work,
        "y",
        phrase(gettext_noop("Wet mortar from a bag")),
        bag_yield,
        f"{volume}/each",
        Origin.DATA_SHEET,
    )
    work.given("w", phrase(gettext_noop("Waste, fraction")), _fraction(waste), "", Origin.PRACTICE)
    work.step("M", BAGS, "V * (1 + w) / y", "each")
    return work.figure()


def _fractions(work: Working, waste: Decimal, back_butter: Decimal) -> None:
    work.given(
        "k", phrase(gettext_noop("Back-buttering, fraction")), _fraction(back_butter), "", Origin.PRACTICE
    )
    work.given("w", phrase(gettext_noop("Waste, fraction")), _fraction(waste), "", Origin.PRACTICE)


def _fraction(value: Decimal) -> Decimal:
    if value < 0:
        raise DomainError(
            phrase(gettext_noop("An allowance must not be below zero (got {value})."), value=str(value)),
            rule="setting.fraction",
            value=value,
        )
    return value


def _positive(value: Measure, rule: str, what: Phrase) -> None:
    if value.value <= 0:
        raise DomainError(
            phrase(
                gettext_noop("The {what} must be above zero (got {value} {unit})."),
                what=what,
                value=str(value.value),
                unit=value.unit,
            ),
            rule=rule,
            value=value.value,
        )


def bed_warnings(bed: Figure, *, large_tile_mortar: bool = False) -> tuple[Phrase, ...]:
    """Return what is wrong with a bed: thinner than 3/32 in, or thicker than its mortar may be.

    Source: :func:`~.rules.bed_limits`.
    """
    limits = bed_limits(large_tile_mortar=large_tile_mortar)
    thickness = Measure(bed.value, bed.unit)
    metric = bed.unit == "mm"
    places = Decimal("0.1") if metric else Decimal("0.0001")
    read = f"{bed.value.quantize(places).normalize():f} {bed.unit}"
    # The standard's own figure stands beside the one a metric crew measures.
    least = f"{limits.least.mm.quantize(places):f} mm (3/32 in)" if metric else "3/32 in"
    most = f"{limits.most.value.value} in"
    if metric:
        most = f"{limits.most.mm.quantize(places):f} mm ({most})"
    if thickness.to("mm") < limits.least.mm:
        return (
            phrase(
                gettext_noop(
                    "A bed of {bed} is under {least} ({source}): take a deeper notch, hold the trowel "
                    "steeper or back-butter."
                ),
                bed=read,
                least=least,
                source=limits.least.source,
            ),
        )
    if thickness.to("mm") > limits.most.mm:
        return (
            phrase(
                gettext_noop("A bed of {bed} is over {most} ({source})."),
                bed=read,
                most=most,
                source=limits.most.source,
            ),
        )
    return ()


def pressed_bed(
    key: str, label: Phrase, notch: Notch, angle: Measure, source: Phrase, system: System
) -> Figure:
    """Return the bed that *notch* leaves when the trowel is held at *angle* (degrees, from *source*)."""
    work = Working(key, label)
    add_bed(work, notch, angle.value, system, source)
    return work.figure()


@dataclass(frozen=True)
class Trowel:
    """A trowel for a size of tile, and whether the tile's back is coated as well."""

    notch: Notch
    back_butter: bool
    large_tile_mortar: bool


def _notch(shape: NotchShape, width: str, depth: str, land: str) -> Notch:
    return Notch(
        shape, Measure(Decimal(width), "in"), Measure(Decimal(depth), "in"), Measure(Decimal(land), "in")
    )


# Longest edge below which each trowel is taken, in; common practice, no source.
_TROWELS: tuple[tuple[Decimal, Notch], ...] = (
    (Decimal("2.01"), _notch(NotchShape.V, "0.1875", "0.15625", "0")),
    (Decimal("8.01"), _notch(NotchShape.SQUARE, "0.25", "0.25", "0.25")),
    (Decimal("12.99"), _notch(NotchShape.SQUARE, "0.25", "0.375", "0.25")),
)
_LARGE = _notch(NotchShape.SQUARE, "0.5", "0.5", "0.5")


def trowel_for(longest_edge: Measure) -> Trowel:
    """Return the trowel for a tile by its longest edge (a practice setting: common practice, no source).

    V-notch for mosaic, 1/4 in square to 8 in, 1/4 x 3/8 in to 12 in, 1/2 in square above; from 15 in the
    back is coated too and large-and-heavy-tile mortar taken. The contact test decides.
    """
    edge = longest_edge.to("in")
    notch = next((notch for below, notch in _TROWELS if edge < below), _LARGE)
    is_long = edge >= LONG_EDGE.to("in")
    return Trowel(notch, is_long, is_long)
