"""From the notch of a trowel to the thickness of the bed it leaves.

A trowel leaves ridges with the section of its notches. Pressed flat they make a bed as thick as a notch's
section divided by its pitch: section / (width + land).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..practice import put
from ..units import Measure, System
from ..working import Figure, Origin, Working


class NotchShape(StrEnum):
    SQUARE = "square"  # or rectangular
    U = "U"  # straight sides, half-round root as wide as the notch
    V = "V"


# Section of one notch from its width a and depth d.
#   U: a rectangle a by (d - a/2) and half a circle of radius a/2, pi (a/2)^2 / 2 = pi a^2 / 8.
SECTIONS: dict[NotchShape, str] = {
    NotchShape.SQUARE: "a * d",
    NotchShape.U: "a * (d - a / 2) + pi * a**2 / 8",
    NotchShape.V: "a * d / 2",
}


@dataclass(frozen=True)
class Notch:
    """*width* at the trowel's edge, *depth*, and *land* (the tooth left between two notches)."""

    shape: NotchShape
    width: Measure
    depth: Measure
    land: Measure

    def __str__(self) -> str:
        sizes = " x ".join(f"{m.value.normalize():f} {m.unit}" for m in (self.width, self.depth, self.land))
        return f"{self.shape.value} {sizes}"


def check_notch(notch: Notch) -> None:
    """Refuse a notch that cannot be.

    Raises:
        DomainError: rule ``setting.notch``: width or depth not above zero, land below zero, or a U-notch
            shallower than its half-round root.
    """
    if notch.width.value <= 0 or notch.depth.value <= 0 or notch.land.value < 0:
        raise DomainError(
            phrase(
                gettext_noop(
                    "A notch needs a width and a depth above zero and a land not below (got {notch})."
                ),
                notch=str(notch),
            ),
            rule="setting.notch",
            place="notch",
        )
    if notch.shape is NotchShape.U and notch.depth.to("mm") * 2 < notch.width.to("mm"):
        raise DomainError(
            phrase(
                gettext_noop(
                    "A U-notch is at least half as deep as it is wide, since its root is half a circle "
                    "(got {notch})."
                ),
                notch=str(notch),
            ),
            rule="setting.notch",
            place="notch",
        )


def add_bed(
    work: Working, notch: Notch, angle_deg: Decimal, system: System, source: Phrase | None = None
) -> Decimal:
    """Add the steps from the notch to the bed ``t`` (in or mm) to *work*; return the bed.

    *source*: what says the angle.

    Raises:
        DomainError: :func:`check_notch`; an angle not above 0 or over 90 degrees (``setting.angle``).
    """
    check_notch(notch)
    if not 0 < angle_deg <= 90:
        raise DomainError(
            phrase(
                gettext_noop("The trowel is held at an angle above 0 and up to 90 degrees (got {angle})."),
                angle=str(angle_deg),
            ),
            rule="setting.angle",
            place="angle",
            angle_deg=angle_deg,
        )
    unit, sheet = system.length, Origin.DATA_SHEET
    put(work, "a", phrase(gettext_noop("Width of the notch")), notch.width, unit, sheet)
    put(work, "d", phrase(gettext_noop("Depth of the notch")), notch.depth, unit, sheet)
    put(work, "b", phrase(gettext_noop("Land between notches")), notch.land, unit, sheet)
    work.given(
        "g", phrase(gettext_noop("Angle of the trowel, degrees")), angle_deg, "", Origin.PRACTICE, source
    )
    work.step(
        "S",
        phrase(gettext_noop("Section of one ridge, {shape} notch"), shape=notch.shape.value),
        SECTIONS[notch.shape],
        "sq in" if system is System.INCH else "sq mm",
    )
    return work.step("t", BED, "S / (a + b) * sin_deg(g)", unit)


BED: Phrase = phrase(gettext_noop("Bed once the ridges are pressed flat"))


def bed_thickness(notch: Notch, system: System, angle_deg: Decimal = Decimal(90)) -> Figure:
    """Return the bed a notch leaves, in or mm: section / pitch, times the sine of the trowel's angle.

    A tilted trowel leaves ridges lower by that sine. In metric the bed in mm is also the litres per m2.
    Source: geometry; the tests integrate the notch's outline numerically.
    """
    work = Working("mortar.bed", BED)
    add_bed(work, notch, angle_deg, system)
    return work.figure()
