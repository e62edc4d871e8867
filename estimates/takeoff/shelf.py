"""The materials a job may use, and which of them does what."""

from __future__ import annotations

from collections.abc import Iterable

from .errors import DomainError
from .materials import check_material
from .model import BondMethod, Material, Role
from .phrases import Phrase, Value, gettext_noop, phrase
from .units import is_unit

# Roles in words, for sentences and headings.
ROLE_NAMES = {
    Role.MEMBRANE: gettext_noop("membrane"),
    Role.INSIDE_CORNER: gettext_noop("inside corner piece"),
    Role.OUTSIDE_CORNER: gettext_noop("outside corner piece"),
    Role.BONDING_AGENT: gettext_noop("bonding agent"),
    Role.SEALANT: gettext_noop("sealant"),
    Role.TILE: gettext_noop("tile"),
    Role.MORTAR: gettext_noop("mortar"),
    Role.GROUT: gettext_noop("grout"),
    Role.BACKER_BOARD: gettext_noop("backer board"),
    Role.FASTENER: gettext_noop("fastener"),
    Role.JOINT_SEALANT: gettext_noop("movement joint sealant"),
    Role.LEVELLER: gettext_noop("levelling compound"),
}


def role_name(role: Role) -> Phrase:
    """Return a role in words."""
    return phrase(ROLE_NAMES[role])


class Shelf:
    """Materials in the order given; the first of a role is the one that is used.

    Raises:
        DomainError: a key twice (rule ``material.key-twice``) or what :func:`~.materials.check_material`
            refuses; *place* begins with ``materials[i]``.
    """

    def __init__(self, materials: Iterable[Material]) -> None:
        self.materials = tuple(materials)
        self._by_key: dict[str, Material] = {}
        for at, material in enumerate(self.materials):
            try:
                _check_units(material)
                check_material(material)
            except DomainError as error:
                raise error.at(f"materials[{at}]") from error
            if material.key in self._by_key:
                raise DomainError(
                    phrase(
                        gettext_noop("The material key {key} is given twice; each needs its own."),
                        key=material.key,
                    ),
                    rule="material.key-twice",
                    place=f"materials[{at}].key",
                )
            self._by_key[material.key] = material

    def all(self, role: Role) -> tuple[Material, ...]:
        """Return every material of *role*."""
        return tuple(material for material in self.materials if material.role is role)

    def need(self, role: Role, why: Value) -> Material:
        """Return the first material of *role*; *why* names what needs it.

        Raises:
            DomainError: there is none (rule ``material.role-missing``).
        """
        found = self.all(role)
        if not found:
            raise self.missing(role, why)
        return found[0]

    def missing(self, role: Role, why: Value) -> DomainError:
        return DomainError(
            phrase(
                gettext_noop("{why} needs {role}, and the material list has none."),
                why=why,
                role=role_name(role),
            ),
            rule="material.role-missing",
            place="materials",
            role=role.value,
        )

    def tile(self, key: str, why: Value) -> Material:
        """Return the tile *key*.

        Raises:
            DomainError: rules ``material.unknown`` (no such material) and ``material.no-tile``.
        """
        material = self._by_key.get(key)
        if material is None:
            raise DomainError(
                phrase(
                    gettext_noop("{why} is tiled with “{key}”, which is not in the material list."),
                    why=why,
                    key=key,
                ),
                rule="material.unknown",
                material=key,
            )
        if material.role is not Role.TILE:
            raise DomainError(
                phrase(
                    gettext_noop("{why} is tiled with {material}, which is {role} and no tile."),
                    why=why,
                    material=material.name,
                    role=role_name(material.role),
                ),
                rule="material.no-tile",
                material=key,
            )
        return material

    def agent(self, method: BondMethod, why: Value) -> Material:
        """Return the bonding agent for *method*: one made for it, else one that names no method.

        Raises:
            DomainError: there is none (rule ``material.role-missing``).
        """
        agents = self.all(Role.BONDING_AGENT)
        for wanted in (method, None):
            for material in agents:
                if material.bond_method is wanted:
                    return material
        raise self.missing(Role.BONDING_AGENT, why)


def _check_units(material: Material) -> None:
    measures = {f"facts.{name}": measure for name, measure in material.facts.items()}
    for place, measure in (measures | {"pack.content": material.pack.content}).items():
        if not is_unit(measure.unit):
            raise DomainError(
                phrase(
                    gettext_noop("{material} has a value in “{unit}”, which is not a unit known here."),
                    material=material.name,
                    unit=measure.unit,
                ),
                rule="units.unknown",
                place=place,
                material=material.key,
            )
