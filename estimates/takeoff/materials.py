"""Which data-sheet values each kind of material carries, and the check that they are there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .errors import DomainError
from .model import Material, Role
from .phrases import Phrase, gettext_noop, phrase
from .units import convert


@dataclass(frozen=True)
class Fact:
    """A named data-sheet value: its label, a unit of its kind, and whether the takeoff needs it."""

    label: Phrase
    unit: str
    needed: bool = True


# "pack" units say what a pack's content is counted in. Names are stable: files and database rows use them.
FACTS: Mapping[Role, Mapping[str, Fact]] = {
    Role.MEMBRANE: {
        "roll width": Fact(phrase(gettext_noop("Roll width")), "in"),
        "roll length": Fact(phrase(gettext_noop("Roll length")), "ft"),
    },
    Role.INSIDE_CORNER: {},
    Role.OUTSIDE_CORNER: {},
    Role.BONDING_AGENT: {
        "coverage smooth": Fact(phrase(gettext_noop("Coverage on smooth substrate")), "sq ft/gal"),
        "coverage rough": Fact(phrase(gettext_noop("Coverage on rough substrate")), "sq ft/gal"),
        "open time": Fact(phrase(gettext_noop("Open time")), "min"),
        "open time hot": Fact(phrase(gettext_noop("Open time in heat or dry wind")), "min", needed=False),
        "wait non-porous": Fact(phrase(gettext_noop("Wait on non-porous substrate")), "min"),
        "wait non-porous cold": Fact(
            phrase(gettext_noop("Wait on non-porous substrate in the cold")), "min", needed=False
        ),
        "wait non-porous humid": Fact(
            phrase(gettext_noop("Wait on non-porous substrate in damp air")), "min", needed=False
        ),
        "cure": Fact(phrase(gettext_noop("Cure before tile")), "h"),
        "cure cold": Fact(phrase(gettext_noop("Cure before tile in the cold")), "h", needed=False),
        "cure humid": Fact(phrase(gettext_noop("Cure before tile in damp air")), "h", needed=False),
    },
    Role.SEALANT: {},
    Role.JOINT_SEALANT: {},
    Role.TILE: {
        "width": Fact(phrase(gettext_noop("Tile width")), "in"),
        "height": Fact(phrase(gettext_noop("Tile height")), "in"),
        "thickness": Fact(phrase(gettext_noop("Tile thickness")), "in"),
        "joint": Fact(phrase(gettext_noop("Joint width")), "in"),
        "sheet width": Fact(phrase(gettext_noop("Mosaic sheet width")), "in", needed=False),
        "sheet height": Fact(phrase(gettext_noop("Mosaic sheet height")), "in", needed=False),
    },
    Role.MORTAR: {
        "coverage": Fact(phrase(gettext_noop("Coverage with its trowel")), "sq ft/each"),
        "cure": Fact(phrase(gettext_noop("Cure before grout")), "h", needed=False),
        "cure cold": Fact(phrase(gettext_noop("Cure before grout in the cold")), "h", needed=False),
        "cure humid": Fact(phrase(gettext_noop("Cure before grout in damp air")), "h", needed=False),
    },
    Role.GROUT: {
        "density": Fact(phrase(gettext_noop("Density of the mixed grout")), "kg/L"),
    },
    Role.BACKER_BOARD: {
        "width": Fact(phrase(gettext_noop("Board width")), "in"),
        "height": Fact(phrase(gettext_noop("Board height")), "in"),
        "fasteners": Fact(phrase(gettext_noop("Fasteners per area")), "each/sq ft"),
        "fastener spacing": Fact(phrase(gettext_noop("Spacing of fasteners")), "in", needed=False),
    },
    Role.FASTENER: {},
    Role.LEVELLER: {
        "yield": Fact(phrase(gettext_noop("Yield of a bag")), "cu ft/each"),
    },
}

# What a pack of each kind of material holds.
PACK_UNITS: Mapping[Role, str] = {
    Role.MEMBRANE: "sq ft",
    Role.INSIDE_CORNER: "each",
    Role.OUTSIDE_CORNER: "each",
    Role.BONDING_AGENT: "gal",
    Role.SEALANT: "fl oz",
    Role.JOINT_SEALANT: "fl oz",
    Role.TILE: "each",  # tiles in a box; mosaic: sheets
    Role.MORTAR: "each",  # one bag
    Role.GROUT: "lb",
    Role.BACKER_BOARD: "each",
    Role.FASTENER: "each",
    Role.LEVELLER: "each",
}


def check_material(material: Material) -> None:
    """Refuse a material that lacks a needed value, or has one of the wrong kind, zero or below.

    Raises:
        DomainError: rules ``material.fact-missing``, ``-unknown``, ``-not-positive``,
            ``material.pack-not-positive``, ``units.kind``; *place* is the fact's or the pack's path.
    """
    facts = FACTS[material.role]
    for name, fact in facts.items():
        if fact.needed and name not in material.facts:
            raise DomainError(
                phrase(gettext_noop("{material} lacks its {fact}."), material=material.name, fact=fact.label),
                rule="material.fact-missing",
                place=f"facts.{name}",
                material=material.key,
            )
    for name, measure in material.facts.items():
        if name not in facts:
            raise DomainError(
                phrase(
                    gettext_noop("{material} has a value named {name}, which a {role} does not have."),
                    material=material.name,
                    name=name,
                    role=material.role.value,
                ),
                rule="material.fact-unknown",
                place=f"facts.{name}",
                material=material.key,
            )
        convert(measure.value, measure.unit, facts[name].unit)
        if measure.value <= 0:
            raise DomainError(
                phrase(
                    gettext_noop("{fact} of {material} must be above zero (got {value} {unit})."),
                    fact=facts[name].label,
                    material=material.name,
                    value=str(measure.value),
                    unit=measure.unit,
                ),
                rule="material.fact-not-positive",
                place=f"facts.{name}",
                material=material.key,
            )
    content = material.pack.content
    convert(content.value, content.unit, PACK_UNITS[material.role])
    if content.value <= 0:
        raise DomainError(
            phrase(
                gettext_noop("A pack of {material} must hold more than nothing (got {value} {unit})."),
                material=material.name,
                value=str(content.value),
                unit=content.unit,
            ),
            rule="material.pack-not-positive",
            place="pack.content",
            material=material.key,
        )
