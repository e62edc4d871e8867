"""Bonding agent: how much of it, and how large a batch may be so that none dries before the sheet lies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from .model import BondMethod, Condition, Material, Surface
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice, put
from .result import Face, Patch
from .sums import add_up
from .units import System, convert
from .weather import held
from .working import Figure, Origin, Working


@dataclass(frozen=True)
class Method:
    """What a way of bonding gives (common practice, no source; the data sheet goes before)."""

    label: Phrase
    isolates_cracks: bool
    standard: str


METHODS: Mapping[BondMethod, Method] = {
    BondMethod.ACRYLIC: Method(phrase(gettext_noop("Acrylic bonding agent")), True, ""),
    BondMethod.ORGANIC: Method(phrase(gettext_noop("Type I organic adhesive")), False, "ANSI A136.1"),
    BondMethod.MORTAR: Method(phrase(gettext_noop("Latex-modified mortar")), False, "ANSI A118.4"),
}


@dataclass(frozen=True)
class Spread:
    """One thing to bond on a face: a sheet or a strip with the area that takes agent (mm2).

    *patches*: where that is. *along_x*: the roll's length runs along the face's x, for a sheet that is spread
    in parts.
    """

    key: str
    area_mm2: Decimal
    patches: tuple[Patch, ...] = ()
    along_x: bool = True


@dataclass(frozen=True)
class BondedFace:
    """A face with what is bonded on it, in laying order (strips first), its agent and its area figure."""

    face: Face
    surface: Surface
    agent: Material
    spreads: tuple[Spread, ...]
    area: Figure


def coverage_name(surface: Surface) -> str:
    """Return the data-sheet coverage that a surface takes.

    New board is smooth; an uneven substrate is smooth once levelled, a sealed one once prepared.
    """
    is_rough = surface.condition is Condition.ROUGH and not surface.new_board
    return "coverage rough" if is_rough else "coverage smooth"


def is_porous(surface: Surface) -> bool:
    """Whether the bonding face drinks; new board always does."""
    return surface.new_board or surface.substrate.is_porous


def bonded_area(face: Face, net: Figure, laps_mm2: Decimal, strips_mm2: Decimal, system: System) -> Figure:
    """Return a face's bonded area: the face once, laps once more, both legs of its strips."""
    unit = system.area
    work = Working(f"{face.key}.bonded", phrase(gettext_noop("Bonded area of {face}"), face=face.label))
    work.carry("A", phrase(gettext_noop("Face")), net)
    work.given(
        "L",
        phrase(gettext_noop("Laps, bonded a second time")),
        convert(laps_mm2, "sq mm", unit),
        unit,
        Origin.GEOMETRY,
    )
    work.given(
        "S",
        phrase(gettext_noop("Strips, both legs")),
        convert(strips_mm2, "sq mm", unit),
        unit,
        Origin.GEOMETRY,
    )
    work.step("T", phrase(gettext_noop("Bonded area")), "A + L + S", unit)
    return work.figure()


def room_quantity(room: str, agent: Material, bonded: Iterable[BondedFace], system: System) -> Figure:
    """Return the agent that one room takes, before waste, by coverage of each kind of substrate."""
    unit, volume = system.area, system.volume
    work = Working(
        f"{room}.{agent.key}", phrase(gettext_noop("{material} in this room"), material=agent.name)
    )
    totals = []
    groups: dict[str, list[BondedFace]] = {}
    for row in bonded:
        groups.setdefault(coverage_name(row.surface), []).append(row)
    for mark, (name, rows) in zip("abc", groups.items(), strict=False):
        names = []
        for number, row in enumerate(rows, 1):
            work.carry(f"{mark}{number}", row.face.label, row.area)
            names.append(f"{mark}{number}")
        label = (
            phrase(gettext_noop("Bonded area on rough substrate"))
            if name == "coverage rough"
            else phrase(gettext_noop("Bonded area on smooth substrate"))
        )
        add_up(work, names, f"A{mark}", label, unit)
        put_coverage(work, f"c{mark}", agent, name, system)
        work.step(f"V{mark}", phrase(gettext_noop("Agent for it")), f"A{mark} / c{mark}", volume)
        totals.append(f"V{mark}")
    add_up(work, totals, "V", phrase(gettext_noop("Agent in this room")), volume)
    return work.figure()


def put_coverage(work: Working, symbol: str, agent: Material, name: str, system: System) -> None:
    label = (
        phrase(gettext_noop("Coverage on rough substrate"))
        if name == "coverage rough"
        else phrase(gettext_noop("Coverage on smooth substrate"))
    )
    put(
        work,
        symbol,
        label,
        agent.facts[name],
        f"{system.area}/{system.volume}",
        Origin.DATA_SHEET,
        phrase(gettext_noop("data sheet of {material}"), material=agent.name),
    )


def batch_area(agent: Material, practice: Practice, system: System) -> Figure:
    """Return the largest area that the crew spreads and embeds within the agent's open time.

    Spreading and embedding go one after the other: A/(n s) + A/(n e) <= t.
    """
    unit = system.area
    opened = held(agent, "open time", practice)
    work = Working(
        f"{agent.key}.batch", phrase(gettext_noop("Largest batch of {material}"), material=agent.name)
    )
    put(
        work,
        "t",
        opened.label,
        opened.value,
        "min",
        Origin.DATA_SHEET,
        phrase(gettext_noop("data sheet of {material}"), material=agent.name),
    )
    practice.put(work, "n", "crew_size")
    practice.put(work, "s", "spread_rate", f"{unit}/min")
    practice.put(work, "e", "embed_rate", f"{unit}/min")
    work.step("A", phrase(gettext_noop("Largest batch")), "t * n / (1 / s + 1 / e)", unit)
    return work.figure()
