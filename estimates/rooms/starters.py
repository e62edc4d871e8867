"""Starter sets: the usual surfaces, openings and fixtures of a kind of room, to be edited afterwards.

The sizes are common practice without a source, except the 6 ft to which shower and tub walls are covered
(IRC R307.2: a non-absorbent finish to at least 6 ft above the floor).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from estimates.takeoff.lengths import exact_text
from estimates.takeoff.units import System

from .fields import Length
from .measured import WallData

Typed = dict[str, str]
INCH = Decimal("25.4")
# Usual sizes: inches for a site in inches, whole millimetres for a metric one.
SIZES: Mapping[str, tuple[str, str]] = {
    "ceiling": ("96", "2400"),
    "tub length": ("60", "1500"),
    "tub depth": ("30", "750"),
    "tub rim": ("15", "400"),
    "wet height": ("72", "1830"),
    "shower depth": ("36", "900"),
    "curb depth": ("4.5", "115"),
    "curb height": ("6", "150"),
    "flange": ("4", "100"),
    "rough-in": ("12", "305"),
    "drain": ("4", "100"),
    "mixer": ("3", "75"),
    "mixer height": ("30", "760"),
    "shower mixer height": ("45", "1150"),
    "spout": ("2", "50"),
    "spout height": ("22", "560"),
    "door": ("30", "760"),
    "front door": ("36", "900"),
    "door height": ("80", "2030"),
    "counter length": ("96", "2400"),
    "counter depth": ("25", "635"),
    "counter edge": ("1.5", "40"),
    "backsplash": ("18", "460"),
    "sink length": ("30", "760"),
    "sink depth": ("18", "460"),
    "sink from back": ("3", "75"),
}


@dataclass
class Starter:
    """Rows as they would be typed, by field."""

    openings: list[Typed] = field(default_factory=list)
    surfaces: list[Typed] = field(default_factory=list)
    fixtures: list[Typed] = field(default_factory=list)


def usual(name: str, system: System) -> Decimal:
    """Return a usual size in millimetres."""
    inches, millimetres = SIZES[name]
    return Decimal(inches) * INCH if system is System.INCH else Decimal(millimetres)


# What an opening, surface or fixture of a kind nearly always measures: field -> name in SIZES.
_USUAL_ROWS: Mapping[tuple[str, str], Mapping[str, str]] = {
    ("openings", "door"): {"width": "door", "height": "door height"},
    ("surfaces", "curb"): {"depth": "curb depth", "height": "curb height"},
    ("surfaces", "counter"): {"depth": "counter depth", "height": "counter edge"},
    ("fixtures", "flange"): {"away": "rough-in", "diameter": "flange"},
    ("fixtures", "drain"): {"diameter": "drain"},
    ("fixtures", "mixer"): {"diameter": "mixer"},
    ("fixtures", "spout"): {"diameter": "spout"},
}


def usual_row(rows: str, kind: str, system: System) -> Typed:
    """Return the usual measurements of a fresh row, as they would be typed; all can be changed."""
    sizes = _USUAL_ROWS.get((rows, kind), {})
    return {name: exact_text(usual(size, system), system) for name, size in sizes.items()}


def usual_height(system: System) -> Length:
    """Return the ceiling height of a new room."""
    return Length.of(usual("ceiling", system), system)


class _Maker:
    """Writes the rows of one starter for the walls there are."""

    def __init__(self, walls: Sequence[WallData], system: System) -> None:
        self.walls = walls
        self.system = system
        self.made = Starter()

    def text(self, mm: Decimal) -> str:
        return exact_text(mm, self.system)

    def size(self, name: str) -> Decimal:
        return usual(name, self.system)

    def length(self, number: int) -> Decimal:
        return self.walls[number - 1].length.mm

    def alcove(self, wanted: Decimal) -> int:
        """Return the wall whose length is nearest to *wanted* (the one a tub or shower stands along)."""
        numbers = range(1, len(self.walls) + 1)
        # In a rectangle of two like walls the second is taken: the first is often the door's.
        return min(numbers, key=lambda one: (abs(self.length(one) - wanted), one != 2, one))

    def free(self, taken: int) -> int:
        """Return the longest wall that neither is *taken* nor touches it: where a door may be."""
        near = {taken, self.beside(taken, -1), self.beside(taken, 1)}
        rest = [one for one in range(1, len(self.walls) + 1) if one not in near]
        return max(rest, key=self.length) if rest else self.beside(taken, 2)

    def beside(self, number: int, step: int) -> int:
        return (number - 1 + step) % len(self.walls) + 1

    def surface(self, kind: str, name: str, **values: str) -> None:
        usual_values = {"substrate": "cement board", "condition": "smooth", "exposure": "wet"}
        rest = {"membrane": "on", "remove": "nothing", "method": "acrylic bonding agent"}
        self.made.surfaces.append({"kind": kind, "name": name, **usual_values, **rest, **values})

    def fixture(self, kind: str, **values: str) -> None:
        self.made.fixtures.append({"kind": kind, **values})

    def door(self, wall: int, name: str = "door") -> None:
        width = min(self.size(name), self.length(wall))
        self.made.openings.append(
            {
                "kind": "door",
                "wall": str(wall),
                "along": self.text((self.length(wall) - width) / 2),
                "width": self.text(width),
                "height": self.text(self.size("door height")),
            }
        )

    def surround(self, wall: int, along: Decimal, deep: Decimal, *, base: Decimal) -> None:
        """Three wet walls round a tub or a shower: behind it and at both ends."""
        height = {"base": self.text(base), "height": self.text(self.size("wet height") - base)}
        before, after = self.beside(wall, -1), self.beside(wall, 1)
        whole = abs(self.length(wall) - along) <= INCH
        self.surface(
            "wall", _("Back wall"), walls=str(wall), length="" if whole else self.text(along), **height
        )
        start = max(self.length(before) - deep, Decimal(0))
        self.surface(
            "wall",
            _("Left end wall"),
            walls=str(before),
            along=self.text(start),
            length=self.text(min(deep, self.length(before))),
            **height,
        )
        if whole:
            self.surface(
                "wall",
                _("Right end wall"),
                walls=str(after),
                length=self.text(min(deep, self.length(after))),
                **height,
            )


def _tub_bath(maker: _Maker) -> None:
    deep, rim = maker.size("tub depth"), maker.size("tub rim")
    maker.surface("floor", _("Floor"), substrate="plywood")
    if len(maker.walls) < 4:
        return
    wall = maker.alcove(maker.size("tub length"))
    long = maker.length(wall)
    if abs(long - maker.size("tub length")) > 2 * INCH:
        long = min(maker.size("tub length"), long)
    maker.surround(wall, long, deep, base=rim)
    before, after = maker.beside(wall, -1), maker.beside(wall, 1)
    plumbing = after if abs(maker.length(wall) - long) <= INCH else before
    middle = deep / 2 if plumbing == after else maker.length(before) - deep / 2
    maker.fixture("tub", wall=str(wall), length=maker.text(long), depth=maker.text(deep))
    maker.fixture(
        "flange",
        wall=str(plumbing),
        along=maker.text(_flange_along(maker, plumbing, deep, plumbing == after)),
        away=maker.text(maker.size("rough-in")),
        diameter=maker.text(maker.size("flange")),
    )
    for name in ("mixer", "spout"):
        maker.fixture(
            name,
            wall=str(plumbing),
            along=maker.text(middle),
            base=maker.text(maker.size(f"{name} height")),
            diameter=maker.text(maker.size(name)),
        )
    maker.door(maker.free(wall))


def _flange_along(maker: _Maker, wall: int, taken: Decimal, at_start: bool) -> Decimal:
    """Return where the closet flange stands: in the middle of what the tub leaves of the wall, at 1/2 in."""
    rest = maker.length(wall) - taken
    along = taken + rest / 2 if at_start else rest / 2
    step = INCH / 2 if maker.system is System.INCH else Decimal(10)
    return (along / step).to_integral_value() * step


def _shower(maker: _Maker) -> None:
    maker.surface("floor", _("Floor"), substrate="plywood")
    if len(maker.walls) < 4:
        return
    deep, curb = maker.size("shower depth"), maker.size("curb depth")
    wall = maker.alcove(maker.size("tub length"))
    long = maker.length(wall)
    maker.surface(
        "shower floor",
        _("Shower floor"),
        substrate="mortar bed",
        walls=str(wall),
        length=maker.text(long),
        depth=maker.text(deep),
    )
    maker.surface(
        "curb",
        _("Curb"),
        walls=str(wall),
        away=maker.text(deep),
        length=maker.text(long),
        depth=maker.text(curb),
        height=maker.text(maker.size("curb height")),
    )
    maker.surround(wall, long, deep, base=Decimal(0))
    after = maker.beside(wall, 1)
    maker.fixture(
        "drain",
        wall=str(wall),
        along=maker.text(_half(long, maker.system)),
        away=maker.text(deep / 2),
        diameter=maker.text(maker.size("drain")),
    )
    maker.fixture(
        "mixer",
        wall=str(after),
        along=maker.text(deep / 2),
        base=maker.text(maker.size("shower mixer height")),
        diameter=maker.text(maker.size("mixer")),
    )
    maker.door(maker.free(wall))


def _half(length: Decimal, system: System) -> Decimal:
    """Return half of a measured length to 1/16 in or 1 mm."""
    step = INCH / 16 if system is System.INCH else Decimal(1)
    return (length / 2 / step).to_integral_value() * step


def _counter(maker: _Maker) -> None:
    long = maker.size("counter length")
    sink = maker.size("sink length")
    maker.surface(
        "counter",
        _("Counter"),
        substrate="plywood",
        length=maker.text(long),
        depth=maker.text(maker.size("counter depth")),
        height=maker.text(maker.size("counter edge")),
    )
    maker.surface(
        "backsplash",
        _("Backsplash"),
        substrate="gypsum board",
        exposure="dry",
        length=maker.text(long),
        height=maker.text(maker.size("backsplash")),
    )
    maker.fixture(
        "sink",
        along=maker.text((long - sink) / 2),
        away=maker.text(maker.size("sink from back")),
        length=maker.text(sink),
        depth=maker.text(maker.size("sink depth")),
    )


def _foyer(maker: _Maker) -> None:
    maker.surface("floor", _("Floor"), substrate="existing tile", exposure="dry")
    if maker.walls:
        maker.door(1, "front door")


STARTERS: Mapping[str, tuple[str | Promise, Callable[[_Maker], None]]] = {
    "tub-bath": (gettext_lazy("Bathroom with tub"), _tub_bath),
    "shower": (gettext_lazy("Shower room"), _shower),
    "counter": (gettext_lazy("Kitchen counter"), _counter),
    "foyer": (gettext_lazy("Foyer"), _foyer),
}


def starter(name: str, walls: Sequence[WallData], system: System) -> Starter:
    """Return the rows of a starter set for a room with *walls*; nothing for a name that is not known."""
    maker = _Maker(walls, system)
    if name in STARTERS:
        STARTERS[name][1](maker)
    return maker.made
