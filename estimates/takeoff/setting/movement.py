"""Movement joints: always at the perimeter and at changes of plane, and in the field by exposure.

Source of the spacings: industry detail EJ171 as a trade reference manual prints it (20 to 25 ft each way
indoors; 8 to 12 ft outdoors, in direct sun or with moisture); ANSI A108.02 4.4 for where they always go.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..practice import put
from ..units import Measure, System
from ..working import Figure, Origin, Round, Working
from .rules import Limit

_SOURCE = phrase(gettext_noop("industry detail EJ171"))


class Sun(StrEnum):
    """What a tiled face is exposed to."""

    INDOORS = "indoors"
    SUN_OR_MOISTURE = "direct sun or moisture"
    OUTDOORS = "outdoors"


def spacing_limit(exposure: Sun) -> Limit:
    """Return the greatest distance between movement joints: 25 ft indoors, else 12 ft (EJ171)."""
    feet = Decimal(25 if exposure is Sun.INDOORS else 12)
    return Limit(Measure(feet, "ft"), _SOURCE)


@dataclass(frozen=True)
class FieldJoints:
    """Joints across one direction: how many bays and joints, and how far apart."""

    bays: Figure
    joints: Figure
    spacing: Figure


def field_joints(
    key: str,
    length: Measure,
    most: Measure,
    system: System,
    *,
    source: Phrase = _SOURCE,
    origin: Origin = Origin.STANDARD,
) -> FieldJoints:
    """Return the field joints across a run of *length*: bays = ceil(length / most), joints = bays - 1.

    Raises:
        DomainError: length or spacing not above zero (rule ``setting.spacing``).
    """
    if length.value <= 0 or most.value <= 0:
        raise DomainError(
            phrase(
                gettext_noop(
                    "Movement joints need a length and a spacing above zero (got {length} and {most})."
                ),
                length=f"{length.value} {length.unit}",
                most=f"{most.value} {most.unit}",
            ),
            rule="setting.spacing",
        )

    def work(name: str, label: Phrase) -> Working:
        working = Working(f"{key}.{name}", label)
        put(
            working, "L", phrase(gettext_noop("Length of the tiled run")), length, system.run, Origin.MEASURED
        )
        put(
            working,
            "m",
            phrase(gettext_noop("Greatest distance between joints")),
            most,
            system.run,
            origin,
            source,
        )
        working.step("n", bays, "ceil(L / m)", "each", Round.UP_WHOLE)
        return working

    bays = phrase(gettext_noop("Bays"))
    count = work("bays", bays)
    joints = work("joints", phrase(gettext_noop("Movement joints in the field")))
    joints.step("j", phrase(gettext_noop("Movement joints in the field")), "n - 1", "each")
    spacing = work("spacing", phrase(gettext_noop("Distance between joints")))
    spacing.step("s", phrase(gettext_noop("Distance between joints")), "L / n", system.run)
    return FieldJoints(count.figure(), joints.figure(), spacing.figure())


def movement_joint_length(
    key: str,
    perimeter: Measure,
    changes_of_plane: Measure,
    field: tuple[Measure, Measure],
    most: Measure,
    system: System,
    *,
    source: Phrase = _SOURCE,
) -> Figure:
    """Return the whole length of movement joints, ft or m.

    Args:
        perimeter: where tile meets a wall, tub, frame or other restraining face.
        changes_of_plane: inside corners between tiled faces (not counted again in *perimeter*).
        field: length and width of the tiled field; joints across its length are as long as its width.
        most: greatest distance between field joints.

    Raises:
        DomainError: a field or spacing not above zero (rule ``setting.spacing``).
    """
    along = field_joints(f"{key}.length", field[0], most, system, source=source).joints
    across = field_joints(f"{key}.width", field[1], most, system, source=source).joints
    label = phrase(gettext_noop("Movement joints"))
    work, run = Working(key, label), system.run
    put(work, "P", phrase(gettext_noop("Perimeter")), perimeter, run, Origin.GEOMETRY)
    put(work, "C", phrase(gettext_noop("Changes of plane")), changes_of_plane, run, Origin.GEOMETRY)
    put(work, "L", phrase(gettext_noop("Length of the field")), field[0], run, Origin.GEOMETRY)
    put(work, "W", phrase(gettext_noop("Width of the field")), field[1], run, Origin.GEOMETRY)
    work.carry("p", phrase(gettext_noop("Joints across the length")), along)
    work.carry("q", phrase(gettext_noop("Joints across the width")), across)
    work.step("J", label, "P + C + p * W + q * L", run)
    return work.figure()
