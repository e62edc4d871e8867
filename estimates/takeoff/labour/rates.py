"""The practice settings a company starts from: how fast one worker goes, and what slows the work.

Every value here is common practice, no source. Each is a setting that the company edits, and that its own
finished jobs correct.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from ..phrases import Phrase, gettext_noop, phrase
from ..units import Measure
from .tasks import Factor, Once, Rate

COMMON_PRACTICE = phrase(gettext_noop("common practice, no source"))

TRADE_STEPS: Mapping[str, Phrase] = {
    "protection": phrase(gettext_noop("Protection and set-up")),
    "demolition": phrase(gettext_noop("Demolition")),
    "preparation": phrase(gettext_noop("Substrate preparation")),
    "backer": phrase(gettext_noop("Backer board")),
    "waterproofing": phrase(gettext_noop("Waterproofing")),
    "testing": phrase(gettext_noop("Checks and tests")),
    "tile": phrase(gettext_noop("Tile setting")),
    "grout": phrase(gettext_noop("Grout")),
    "joints": phrase(gettext_noop("Movement joints and sealant")),
    "clean_up": phrase(gettext_noop("Clean-up")),
    "travel": phrase(gettext_noop("Travel")),
}

# Rooms whose floor is smaller than this count as small (common practice, no source).
SMALL_ROOM = Measure(Decimal(50), "sq ft")

FACTORS: Mapping[str, Factor] = {
    factor.key: factor
    for factor in (
        Factor(
            "small_room",
            phrase(gettext_noop("Small room: no space to work side by side")),
            Decimal("1.25"),
            source=COMMON_PRACTICE,
        ),
        Factor(
            "height",
            phrase(gettext_noop("Work above reach, from a platform")),
            Decimal("1.15"),
            source=COMMON_PRACTICE,
        ),
        Factor(
            "access",
            phrase(gettext_noop("Stairs or a long carry")),
            Decimal("1.10"),
            source=COMMON_PRACTICE,
        ),
        Factor(
            "occupied",
            phrase(gettext_noop("Occupied home: short hours of noise, clean ways, daily tidying")),
            Decimal("1.10"),
            source=COMMON_PRACTICE,
        ),
        Factor(
            "cuts",
            phrase(gettext_noop("Many cuts for the area")),
            Decimal("1.15"),
            source=COMMON_PRACTICE,
        ),
    )
}

_ROOM = frozenset({"small_room", "occupied"})
_HEAVY = _ROOM | {"access"}
_WALL = _ROOM | {"height"}
_NOTHING: frozenset[str] = frozenset()


def _rate(
    key: str,
    label: str,
    step: str,
    unit: str,
    per_hour: tuple[str, str, str],
    setup_h: str = "0",
    minimum_h: str = "0",
    crew: int = 1,
    setup: Once = Once.PER_ROOM,
    slowed_by: frozenset[str] = _ROOM,
) -> Rate:
    optimistic, likely, pessimistic = (Decimal(value) for value in per_hour)
    return Rate(
        key,
        phrase(label),
        step,
        unit,
        optimistic,
        likely,
        pessimistic,
        Decimal(setup_h),
        Decimal(minimum_h),
        crew,
        COMMON_PRACTICE,
        setup,
        slowed_by=slowed_by,
    )


_ = gettext_noop

# Per hour of ONE worker: optimistic, likely, pessimistic. Common practice, no source.
DEFAULT_RATES: Mapping[str, Rate] = {
    rate.key: rate
    for rate in (
        _rate(
            "protect",
            _("Protect and set up"),
            "protection",
            "sq ft",
            ("250", "150", "80"),
            "0.5",
            "0.5",
            setup=Once.PER_JOB,
            slowed_by=frozenset({"occupied", "access"}),
        ),
        _rate(
            "demolish_tile",
            _("Demolition: tile, carried out"),
            "demolition",
            "sq ft",
            ("25", "15", "8"),
            "0.5",
            "1",
            2,
            slowed_by=_HEAVY,
        ),
        _rate(
            "demolish_resilient",
            _("Demolition: resilient flooring, taken up intact"),
            "demolition",
            "sq ft",
            ("50", "30", "15"),
            "0.5",
            "1",
            2,
            slowed_by=_HEAVY,
        ),
        _rate(
            "demolish_carpet",
            _("Demolition: carpet and pad, carried out"),
            "demolition",
            "sq ft",
            ("120", "80", "40"),
            "0.25",
            "0.5",
            slowed_by=_HEAVY,
        ),
        _rate(
            "demolish_wood",
            _("Demolition: wood flooring, carried out"),
            "demolition",
            "sq ft",
            ("40", "25", "12"),
            "0.5",
            "1",
            2,
            slowed_by=_HEAVY,
        ),
        _rate(
            "demolish_board",
            _("Demolition: wall board, carried out"),
            "demolition",
            "sq ft",
            ("45", "30", "15"),
            "0.5",
            "1",
            2,
            slowed_by=_HEAVY | {"height"},
        ),
        _rate(
            "prepare",
            _("Prepare the substrate: clean, refasten, fill joints"),
            "preparation",
            "sq ft",
            ("200", "120", "60"),
            "0.25",
            "0.5",
        ),
        _rate(
            "prepare_sealed",
            _("Prepare a sealed substrate mechanically, with extraction"),
            "preparation",
            "sq ft",
            ("60", "40", "20"),
            "0.5",
            "1",
        ),
        _rate(
            "level",
            _("Level or patch"),
            "preparation",
            "sq ft",
            ("120", "80", "40"),
            "0.5",
            "1",
            2,
            slowed_by=_HEAVY,
        ),
        _rate(
            "backer_board",
            _("Fix backer board"),
            "backer",
            "sq ft",
            ("45", "30", "18"),
            "0.5",
            "1",
            slowed_by=_HEAVY | {"height", "cuts"},
        ),
        _rate(
            "membrane_corners",
            _("Membrane: corner pieces"),
            "waterproofing",
            "each",
            ("12", "8", "5"),
            "0.25",
            "0.25",
        ),
        _rate(
            "membrane_strips",
            _("Membrane: strips at changes of plane"),
            "waterproofing",
            "ft",
            ("40", "25", "15"),
        ),
        _rate(
            "membrane_floor",
            _("Membrane: floor sheets"),
            "waterproofing",
            "sq ft",
            ("80", "50", "30"),
            "0.5",
            "0.5",
        ),
        _rate(
            "membrane_wall",
            _("Membrane: wall sheets"),
            "waterproofing",
            "sq ft",
            ("60", "35", "20"),
            "0.5",
            "0.5",
            slowed_by=_WALL,
        ),
        _rate(
            "membrane_penetrations",
            _("Membrane: penetrations, cut and sealed"),
            "waterproofing",
            "each",
            ("10", "6", "4"),
            "0",
            "0.25",
        ),
        _rate(
            "membrane_sealant",
            _("Membrane: beads of sealant"),
            "waterproofing",
            "ft",
            ("80", "50", "30"),
            "0",
            "0.25",
        ),
        _rate(
            "flood_test_fill",
            _("Flood test: plug, dam, fill, mark the level"),
            "testing",
            "each",
            ("2", "1.5", "1"),
            "0",
            "0.5",
            slowed_by=_NOTHING,
        ),
        _rate(
            "flood_test_read",
            _("Flood test: read, look below, empty"),
            "testing",
            "each",
            ("4", "3", "2"),
            "0",
            "0.25",
            slowed_by=_NOTHING,
        ),
        _rate(
            "check", _("Hold point: check and record"), "testing", "each", ("8", "5", "3"), slowed_by=_NOTHING
        ),
        _rate(
            "layout",
            _("Tile layout: lines and dry fit"),
            "tile",
            "sq ft",
            ("150", "100", "50"),
            "0.25",
            "0.5",
        ),
        _rate(
            "set_floor_tile",
            _("Set floor tile"),
            "tile",
            "sq ft",
            ("20", "14", "8"),
            "0.5",
            "1",
            slowed_by=_HEAVY | {"cuts"},
        ),
        _rate(
            "set_wall_tile",
            _("Set wall tile"),
            "tile",
            "sq ft",
            ("15", "10", "6"),
            "0.5",
            "1",
            slowed_by=_HEAVY | {"height", "cuts"},
        ),
        _rate(
            "set_mosaic",
            _("Set mosaic or shower floor"),
            "tile",
            "sq ft",
            ("10", "6", "4"),
            "0.5",
            "1",
            slowed_by=_HEAVY | {"cuts"},
        ),
        _rate("cut_tile", _("Cut tile"), "tile", "each", ("40", "25", "15"), slowed_by=_NOTHING),
        _rate(
            "cut_holes",
            _("Cut holes and notches in tile"),
            "tile",
            "each",
            ("8", "5", "3"),
            slowed_by=_NOTHING,
        ),
        _rate("trim", _("Fix trim and edge profiles"), "tile", "ft", ("30", "18", "10"), "0", "0.25"),
        _rate("grout", _("Grout and clean the face"), "grout", "sq ft", ("60", "40", "20"), "0.5", "1"),
        _rate(
            "movement_joints",
            _("Movement joints: sealant"),
            "joints",
            "ft",
            ("50", "30", "15"),
            "0.25",
            "0.25",
        ),
        _rate(
            "clean_up",
            _("Clean up and hand over"),
            "clean_up",
            "sq ft",
            ("200", "120", "60"),
            "0",
            "0.5",
            slowed_by=frozenset({"occupied", "access"}),
        ),
        _rate(
            "travel", _("Travel"), "travel", "h", ("1.1", "1", "0.8"), setup=Once.PER_JOB, slowed_by=_NOTHING
        ),
    )
}


def difficulty(
    rate: Rate,
    *,
    floor: Measure | None = None,
    high: bool = False,
    poor_access: bool = False,
    occupied: bool = False,
    many_cuts: bool = False,
    factors: Mapping[str, Factor] = FACTORS,
    small: Measure = SMALL_ROOM,
) -> tuple[Factor, ...]:
    """Return the factors that bear on *rate* in a room with floor area *floor* (None: not a room).

    Only what the rate names in ``slowed_by`` counts: stairs do not slow a flood test.
    """
    is_small = floor is not None and floor.to(small.unit) < small.value
    here = {
        "small_room": is_small,
        "height": high,
        "access": poor_access,
        "occupied": occupied,
        "cuts": many_cuts,
    }
    return tuple(
        factors[key] for key, holds in here.items() if holds and key in rate.slowed_by and key in factors
    )
