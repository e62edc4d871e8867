"""How this contractor works: every number that neither the tape nor a data sheet gives.

Each setting says where it came from. The defaults are common practice unless a standard is named; the
contractor's own settings and the local code override them by name.
"""

# ruff: noqa: RUF009  (a Setting is frozen, so sharing a default is safe)
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal

from .errors import DomainError
from .labour import DEFAULT_RATES, FACTORS, Factor, LabourPractice, Rate
from .phrases import Phrase, gettext_noop, phrase
from .sequence import Calendar
from .units import Measure, convert
from .working import Origin, Working

COMMON_PRACTICE = phrase(gettext_noop("common practice, no source"))
OWN_RULE = phrase(gettext_noop("the program's own rule"))
CONTRACTOR = phrase(gettext_noop("the contractor's own setting"))


@dataclass(frozen=True)
class Setting:
    """One setting: its value with unit, its name for people, where it came from and what says so."""

    value: Measure
    label: Phrase
    origin: Origin = Origin.PRACTICE
    source: Phrase = COMMON_PRACTICE

    def to(self, unit: str) -> Decimal:
        """Return the number in *unit*."""
        return self.value.to(unit)

    @property
    def mm(self) -> Decimal:
        """The length in millimetres."""
        return self.to("mm")

    @property
    def number(self) -> Decimal:
        """The value as it stands: for counts, fractions and yes (1) or no (0)."""
        return self.value.value


def _set(value: str, unit: str, label: str, source: Phrase = COMMON_PRACTICE) -> Setting:
    origin = Origin.PRACTICE if source in (COMMON_PRACTICE, OWN_RULE) else Origin.STANDARD
    return Setting(Measure(Decimal(value), unit), phrase(label), origin, source)


@dataclass(frozen=True)
class Practice:
    """Every setting by name. *calendar*, *rates* and *factors* belong to the labour side."""

    # Membrane
    side_lap: Setting = _set("2", "in", gettext_noop("Lap between neighbouring sheets"))
    butt_lap: Setting = _set("1.5", "in", gettext_noop("Lap end to end"))
    strip_width: Setting = _set("4", "in", gettext_noop("Width of strips over changes of plane"))
    turn_strips: Setting = _set(
        "1",
        "",
        gettext_noop("Strips are cut along the roll too, where that saves"),
        OWN_RULE,
    )
    drain_clearance: Setting = _set("6", "in", gettext_noop("Least distance of a seam from a drain"))
    butt_stagger: Setting = _set("12", "in", gettext_noop("Least distance between end laps of neighbours"))
    least_rip: Setting = _set("4", "in", gettext_noop("Narrowest sheet planned"))
    sheet_worth: Setting = _set("12", "in", gettext_noop("Length of roll that one sheet fewer is worth"))
    trim: Setting = _set("0", "in", gettext_noop("Trimming allowance on each cut piece"))
    kerf: Setting = _set("0", "in", gettext_noop("Loss at each cut"))
    roll_end: Setting = _set("0", "in", gettext_noop("Trimmed off the start of each roll"))
    corners_from_roll: Setting = _set(
        "0", "", gettext_noop("Corner pieces are cut from the roll, not bought made")
    )
    corner_piece: Setting = _set("6", "in", gettext_noop("Side of a corner piece cut from the roll"))
    offcut_width: Setting = _set("6", "in", gettext_noop("Narrowest offcut worth keeping"))
    offcut_length: Setting = _set("12", "in", gettext_noop("Shortest offcut worth keeping"))
    # Room
    close_within: Setting = _set("0.5", "in", gettext_noop("Misclosure of a walk that is balanced"))
    close_ratio: Setting = _set(
        "0.01", "", gettext_noop("Misclosure of a walk that is balanced, as a fraction of its perimeter")
    )
    fit: Setting = _set(
        "0.5", "in", gettext_noop("Difference between a thing and its alcove that is taken for touching")
    )
    wet_wall_height: Setting = _set(
        "72",
        "in",
        gettext_noop("Height of waterproofing on shower walls"),
        phrase(gettext_noop("IRC R307.2: non-absorbent to at least 6 ft above the floor")),
    )
    reach: Setting = _set("84", "in", gettext_noop("Height above which work needs a platform"))
    tub_rim: Setting = _set("15", "in", gettext_noop("Height of a tub's rim where none was measured"))
    cabinet_top: Setting = _set("34.5", "in", gettext_noop("Height of a cabinet where none was measured"))
    shower_slope: Setting = _set(
        "0.25",
        "in/ft",
        gettext_noop("Slope of a shower floor to its drain"),
        phrase(gettext_noop("IRC P2709.1: at least 1/4 in per foot")),
    )
    # Bonding
    crew_size: Setting = _set("2", "", gettext_noop("People in the crew"))
    spread_rate: Setting = _set("4", "sq ft/min", gettext_noop("Bonding agent spread by one person"))
    embed_rate: Setting = _set("6", "sq ft/min", gettext_noop("Membrane embedded by one person"))
    laid_hot: Setting = _set(
        "0", "", gettext_noop("Agent is spread in heat or dry wind: its data sheet's shorter open time holds")
    )
    # Sealant and movement joints
    fillet_leg: Setting = _set("0.25", "in", gettext_noop("Leg of a sealant fillet"))
    corner_bead: Setting = _set("6", "in", gettext_noop("Bead of sealant at the base of a corner"))
    joint_width: Setting = _set(
        "0.25",
        "in",
        gettext_noop("Width of a movement joint"),
        phrase(
            gettext_noop(
                "architectural detailing text: at least 1/4 in wide, as deep as half its width, "
                "never under 1/4 in"
            )
        ),
    )
    joint_depth: Setting = _set(
        "0.25",
        "in",
        gettext_noop("Depth of sealant in a movement joint"),
        phrase(gettext_noop("architectural detailing text: at least 1/4 in deep")),
    )
    joint_spacing_dry: Setting = _set(
        "25",
        "ft",
        gettext_noop("Greatest spacing of movement joints indoors"),
        phrase(gettext_noop("industry detail for movement joints: 20 to 25 ft indoors")),
    )
    joint_spacing_wet: Setting = _set(
        "12",
        "ft",
        gettext_noop("Greatest spacing of movement joints in sun or moisture"),
        phrase(gettext_noop("industry detail for movement joints: 8 to 12 ft in sun or moisture")),
    )
    # Tile and boards
    tile_breakage: Setting = _set("0.05", "", gettext_noop("Tile broken or spoilt, as a fraction"))
    edge_gap: Setting = _set("0", "in", gettext_noop("Gap kept between tile and what bounds it"))
    saw_kerf: Setting = _set("2", "mm", gettext_noop("Loss at each cut through a tile"))
    back_butter: Setting = _set(
        "0.15", "", gettext_noop("Mortar for coating the backs of tile from 15 in, as a fraction added")
    )
    trowel_angle: Setting = _set("45", "", gettext_noop("Angle at which the notched trowel is held, degrees"))
    board_gap: Setting = _set("0.125", "in", gettext_noop("Gap between backer boards"))
    framing: Setting = _set("16", "in", gettext_noop("Spacing of studs behind backer board"))
    fastener_waste: Setting = _set("0.05", "", gettext_noop("Fasteners lost, as a fraction"))
    # Tests and cures
    flood_test: Setting = _set(
        "24",
        "h",
        gettext_noop("Flood test"),
        phrase(gettext_noop("ASTM D5957: 24 to 72 h; the local code decides")),
    )

    laid_cold: Setting = _set(
        "0",
        "",
        gettext_noop("Membrane is laid below 50 °F (10 °C) and stands 48 h before a flood test"),
        phrase(gettext_noop("ASTM D5957 5.4")),
    )

    laid_humid: Setting = _set(
        "0", "", gettext_noop("Work is done in damp air: the data sheets' longer waits and cures hold")
    )

    # Labour: how hours are counted, how fast one worker is, what slows the work, and when work happens
    hours_step: Setting = _set("0.1", "h", gettext_noop("Hours of an activity are rounded up to"))
    learning: Setting = _set(
        "0.95",
        "",
        gettext_noop("Share of the hours left each time the number of like rooms doubles (1: no learning)"),
    )
    small_room: Setting = _set("50", "sq ft", gettext_noop("Floor below which a room counts as small"))
    rates: Mapping[str, Rate] = field(default_factory=lambda: DEFAULT_RATES)
    factors: Mapping[str, Factor] = field(default_factory=lambda: FACTORS)
    calendar: Calendar = field(default_factory=Calendar)

    @property
    def labour(self) -> LabourPractice:
        """How hours are counted, as the labour side takes it."""
        return LabourPractice(
            self.hours_step.to("h"), self.learning.number, self.hours_step.source, self.learning.source
        )

    def put(self, work: Working, symbol: str, name: str, unit: str | None = None) -> Decimal:
        """Add setting *name* to a working as an input, in *unit*; return its number."""
        setting = self.named(name)
        return put(work, symbol, setting.label, setting.value, unit, setting.origin, setting.source)

    def named(self, name: str) -> Setting:
        """Return a setting by its name."""
        setting = getattr(self, name)
        if not isinstance(setting, Setting):
            raise KeyError(name)
        return setting

    def override(self, name: str, value: Measure, source: Phrase = CONTRACTOR) -> Practice:
        """Return the practice with setting *name* replaced.

        Raises:
            DomainError: no such setting, a unit of another kind, a value that cannot be (rules
                ``practice.unknown``, ``units.kind``, ``practice.negative``, ``practice.whole``,
                ``practice.fraction``, ``practice.range``, ``practice.yes-no``); *place* is the name.
        """
        if name not in setting_names():
            raise DomainError(
                phrase(gettext_noop("There is no practice setting named {name}."), name=name),
                rule="practice.unknown",
                place=name,
            )
        old = self.named(name)
        try:
            convert(value.value, value.unit, old.value.unit)
        except DomainError as error:
            raise error.at(name) from error
        if value.value < 0 or (value.value == 0 and name in _ABOVE_ZERO):
            message = (
                gettext_noop("{setting} must be above zero (got {value} {unit}).")
                if name in _ABOVE_ZERO
                else gettext_noop("{setting} must not be below zero (got {value} {unit}).")
            )
            raise DomainError(
                phrase(message, setting=old.label, value=str(value.value), unit=value.unit),
                rule="practice.negative",
                place=name,
            )
        _check_range(name, old.label, value)
        if name in _WHOLE and value.value != value.value.to_integral_value():
            raise DomainError(
                phrase(
                    gettext_noop("{setting} is a whole number (got {value})."),
                    setting=old.label,
                    value=str(value.value),
                ),
                rule="practice.whole",
                place=name,
            )
        if name in _FRACTIONS and value.value >= 1:
            raise DomainError(
                phrase(
                    gettext_noop("{setting} lies below 1 (got {value})."),
                    setting=old.label,
                    value=str(value.value),
                ),
                rule="practice.fraction",
                place=name,
            )
        if name in _YES_NO and value.value not in (0, 1):
            raise DomainError(
                phrase(
                    gettext_noop("{setting}: either 1 or 0 (got {value})."),
                    setting=old.label,
                    value=str(value.value),
                ),
                rule="practice.yes-no",
                place=name,
            )
        new = Setting(value, old.label, Origin.PRACTICE, source)
        return replace(self, **{name: new})  # type: ignore[arg-type]


# Without these there is no answer: a strip of no width, a crew of nobody, a batch never embedded.
_ABOVE_ZERO = frozenset(
    {
        "strip_width",
        "crew_size",
        "spread_rate",
        "embed_rate",
        "corner_piece",
        "joint_spacing_dry",
        "joint_spacing_wet",
        "offcut_width",
        "offcut_length",
        "framing",
        "trowel_angle",
        "hours_step",
    }
)
_WHOLE = frozenset({"crew_size", "corners_from_roll", "turn_strips", "laid_cold", "laid_hot", "laid_humid"})
_FRACTIONS = frozenset({"tile_breakage", "fastener_waste", "back_butter", "close_ratio"})
_YES_NO = frozenset({"corners_from_roll", "turn_strips", "laid_cold", "laid_hot", "laid_humid"})

# Beyond these the answer would be batches or joints by the million: a slip of the keyboard, not a practice.
_LEAST: Mapping[str, Measure] = {
    "spread_rate": Measure(Decimal("0.1"), "sq ft/min"),
    "embed_rate": Measure(Decimal("0.1"), "sq ft/min"),
    "joint_spacing_dry": Measure(Decimal(1), "ft"),
    "joint_spacing_wet": Measure(Decimal(1), "ft"),
    "learning": Measure(Decimal("0.5"), ""),
    "hours_step": Measure(Decimal("0.01"), "h"),
    "trowel_angle": Measure(Decimal(10), ""),
}
_MOST: Mapping[str, Measure] = {
    "crew_size": Measure(Decimal(50), ""),
    "learning": Measure(Decimal(1), ""),
    "hours_step": Measure(Decimal(8), "h"),
    "trowel_angle": Measure(Decimal(90), ""),
}


def _check_range(name: str, label: Phrase, value: Measure) -> None:
    """Refuse what nobody works with (rule ``practice.range``)."""
    least, most = _LEAST.get(name), _MOST.get(name)
    for bound, message in (
        (
            least if least and value.to(least.unit) < least.value else None,
            gettext_noop("{setting}: expected at least {bound} {unit} (got {value} {typed})."),
        ),
        (
            most if most and value.to(most.unit) > most.value else None,
            gettext_noop("{setting}: expected at most {bound} {unit} (got {value} {typed})."),
        ),
    ):
        if bound:
            raise DomainError(
                phrase(
                    message,
                    setting=label,
                    bound=str(bound.value),
                    unit=bound.unit,
                    value=str(value.value),
                    typed=value.unit,
                ),
                rule="practice.range",
                place=name,
            )


# The first setting of each group; the others of the group are declared after it.
_GROUPS: Mapping[str, Phrase] = {
    "side_lap": phrase(gettext_noop("Membrane")),
    "close_within": phrase(gettext_noop("Room")),
    "crew_size": phrase(gettext_noop("Bonding")),
    "fillet_leg": phrase(gettext_noop("Sealant and movement joints")),
    "tile_breakage": phrase(gettext_noop("Tile and boards")),
    "flood_test": phrase(gettext_noop("Tests and cures")),
    "hours_step": phrase(gettext_noop("Labour")),
}


def setting_names() -> tuple[str, ...]:
    """Return the names of all settings, in the order they are declared."""
    return tuple(one.name for one in fields(Practice) if isinstance(one.default, Setting))


def setting_groups() -> tuple[tuple[Phrase, tuple[str, ...]], ...]:
    """Return the settings by subject, both in the order of declaration."""
    groups: list[tuple[Phrase, tuple[str, ...]]] = []
    for name in setting_names():
        if name in _GROUPS or not groups:
            groups.append((_GROUPS[name], ()))
        title, names = groups[-1]
        groups[-1] = (title, (*names, name))
    return tuple(groups)


def is_fraction(name: str) -> bool:
    """Return whether a setting is a part of a whole, which people write as a percentage."""
    return name in _FRACTIONS


def is_yes_or_no(name: str) -> bool:
    """Return whether a setting is a choice between yes (1) and no (0)."""
    return name in _YES_NO


def settings(practice: Practice) -> Mapping[str, Setting]:
    """Return every setting by name."""
    return {name: practice.named(name) for name in setting_names()}


def put(
    work: Working,
    symbol: str,
    label: Phrase,
    value: Measure,
    unit: str | None,
    origin: Origin,
    source: Phrase | None = None,
) -> Decimal:
    """Add *value* to a working in *unit*; where the unit differs, show what was printed and the conversion.

    The printed number stands first as an input, the factor (exact, by definition) second, and a step turns
    one into the other.
    """
    if unit is None or unit == value.unit:
        return work.given(symbol, label, value.value, value.unit, origin, source)
    work.given(f"{symbol}_0", label, value.value, value.unit, origin, source)
    factor = convert(Decimal(1), value.unit, unit)
    work.given(
        f"{symbol}_k",
        phrase(gettext_noop("One {unit} in {wanted}"), unit=value.unit, wanted=unit),
        factor,
        unit,
        Origin.STANDARD,
        phrase(gettext_noop("definition of the units")),
    )
    return work.step(symbol, label, f"{symbol}_0 * {symbol}_k", unit)
