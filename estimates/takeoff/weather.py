"""Values of a data sheet as they hold in the weather the membrane is laid in.

A data sheet may give another open time in heat, and longer waits and cures in the cold or in damp air. Where
it does, and the practice says that it is so, that value holds; where it does not, the usual one does: nothing
is guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .materials import FACTS
from .model import Material
from .phrases import Phrase
from .practice import Practice
from .units import Measure

# Of each value, what may correct it: the ending of the data sheet's name and the setting that says it is so.
_WEATHER: Mapping[str, tuple[tuple[str, str], ...]] = {
    "open time": (("hot", "laid_hot"),),
    "wait non-porous": (("cold", "laid_cold"), ("humid", "laid_humid")),
    "cure": (("cold", "laid_cold"), ("humid", "laid_humid")),
}
# Of these the shortest holds; of all others the longest.
_SHORTEST = frozenset({"open time"})


@dataclass(frozen=True)
class Held:
    """A value of a data sheet with its label, corrected or not."""

    value: Measure
    label: Phrase


def held(material: Material, name: str, practice: Practice) -> Held:
    """Return the value *name* of a material as it holds in the practice's weather.

    Of several corrections the careful one: the shortest open time, the longest wait or cure.

    Raises:
        KeyError: the material lacks *name*.
    """
    labels = FACTS[material.role]
    found = [Held(material.facts[name], labels[name].label)]
    for ending, setting in _WEATHER.get(name, ()):
        fact = f"{name} {ending}"
        if fact in material.facts and practice.named(setting).number:
            found.append(Held(material.facts[fact], labels[fact].label))
    usual = found[0].value.unit
    pick = min if name in _SHORTEST else max
    return pick(found, key=lambda one: one.value.to(usual))
