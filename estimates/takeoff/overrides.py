"""Quantities that somebody entered instead of what was counted, with the reason in the working."""

from __future__ import annotations

from .errors import DomainError
from .model import Counted, Room
from .phrases import gettext_noop, phrase
from .practice import put
from .units import Measure, System
from .working import Figure, Origin, Working


def check_overrides(room: Room, system: System) -> None:
    """Refuse what cannot stand instead of a count.

    Raises:
        DomainError: a quantity below zero, without a reason, or of another kind (rules ``override.quantity``,
            ``override.reason``, ``units.kind``); *place* is the override's path in the room.
    """
    for what, override in room.overrides.items():
        place = f"overrides.{what.value}"
        if override.quantity.value < 0:
            raise DomainError(
                phrase(
                    gettext_noop("{room}: {what} must not be below zero (got {value})."),
                    room=room.name,
                    what=phrase(what.value),
                    value=str(override.quantity.value),
                ),
                rule="override.quantity",
                place=f"{place}.quantity",
            )
        if not override.reason.strip():
            raise DomainError(
                phrase(
                    gettext_noop("{room}: say why {what} is entered and not counted."),
                    room=room.name,
                    what=phrase(what.value),
                ),
                rule="override.reason",
                place=f"{place}.reason",
            )
        if override.quantity.unit:
            try:
                override.quantity.to(_unit(what, system))
            except DomainError as error:
                raise error.at(f"{place}.quantity") from error


def _unit(what: Counted, system: System) -> str:
    return system.run if what in (Counted.BEAD, Counted.STRIPS) else "each"


def corrected(room: Room, what: Counted, figure: Figure) -> Figure:
    """Return *figure*, or what was entered instead of it; the working keeps what was counted."""
    override = room.overrides.get(what)
    if override is None:
        return figure
    work = Working(figure.key, figure.label)
    work.carry("c", phrase(gettext_noop("As counted from the room")), figure)
    # A bare number is in the figure's own unit. The reason is a person's text: its brackets are no fields.
    put(
        work,
        "x",
        phrase(gettext_noop("Entered instead")),
        Measure(override.quantity.value, override.quantity.unit or figure.unit),
        figure.unit,
        Origin.ENTERED,
        phrase(override.reason.replace("{", "(").replace("}", ")")),
    )
    work.step("N", figure.label, "x", figure.unit)
    return work.figure()
