"""The trade's order as a table: which step waits for which, in the same place, the room or the job.

Whoever plans a job makes tasks of these steps where the rooms have them, and asks :func:`order_links` what
each waits for; a step that a room does not have (no demolition, no board) is passed through.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from ..errors import DomainError
from ..labour.rates import COMMON_PRACTICE
from ..labour.tasks import Cure
from ..phrases import Phrase, gettext_noop, phrase
from ..working import Origin


class Scope(StrEnum):
    """What a step is done once for, and how far a link between two steps reaches."""

    JOB = "job"
    ROOM = "room"
    SURFACE = "surface"


class HoldPoint(StrEnum):
    """Where the work stops until somebody has looked and recorded it."""

    SUBSTRATE = "substrate accepted"
    MEMBRANE = "membrane accepted"
    FLOOD_TEST = "flood test"
    COVERAGE = "setting coverage"
    JOINTS = "movement joints"
    FINAL = "final"


@dataclass(frozen=True)
class After:
    """A link to *step* in the same *scope*. *wait*: key of :data:`CURES` ("bond": the bonding method's own);
    "" waits for nothing but the step's end. *own*: the wait is for the sake of the step that waits, so where
    that step is not there nobody waits (a membrane that is not flooded need not stand first)."""

    step: str
    scope: Scope
    wait: str = ""
    own: bool = False


@dataclass(frozen=True)
class TradeStep:
    """A step of the trade.

    *activities*: keys of the rates it may be made of. *scope*: one task per surface, per room or per job.
    *hold_point*: what stands at its end. *when*: where it applies. *source*: who says that it stands here.
    """

    key: str
    label: Phrase
    scope: Scope
    activities: tuple[str, ...]
    after: tuple[After, ...]
    when: Phrase
    source: Phrase = COMMON_PRACTICE
    hold_point: HoldPoint | None = None


_ = gettext_noop

_A136 = phrase(_("ANSI A136.1, Type I organic adhesive; the hours are common practice, no source"))
_A118 = phrase(_("ANSI A118.4, latex-modified mortar; the hours are a company setting"))
_D5957 = phrase(_("ASTM D5957, used as the guide; the local code decides"))
_D5957_WAIT = phrase(_("ASTM D5957 5.4"))


def _cure(key: str, label: str, hours: str, origin: Origin, source: Phrase = COMMON_PRACTICE) -> Cure:
    return Cure(key, phrase(label), Decimal(hours), origin, source)


# Waits by the clock. The bonding methods carry the names that the model gives them. A material's own data
# sheet goes before every one of these.
CURES: Mapping[str, Cure] = {
    cure.key: cure
    for cure in (
        _cure("acrylic bonding agent", _("Bond cures before tile"), "2", Origin.PRACTICE),
        _cure("organic adhesive", _("Bond cures before tile"), "4", Origin.PRACTICE, _A136),
        _cure("latex-modified mortar", _("Bond cures overnight before tile"), "12", Origin.PRACTICE, _A118),
        _cure("tacky", _("Agent on a non-porous substrate turns clear and tacky"), "0.25", Origin.PRACTICE),
        _cure("levelling", _("Levelling compound hardens"), "24", Origin.PRACTICE),
        _cure("before test", _("Membrane stands before it is flooded"), "24", Origin.STANDARD, _D5957_WAIT),
        _cure(
            "before test, cold",
            _("Membrane laid below 50 °F (10 °C) stands before it is flooded"),
            "48",
            Origin.STANDARD,
            _D5957_WAIT,
        ),
        _cure("flood test", _("Water stands for the flood test"), "24", Origin.STANDARD, _D5957),
        _cure("mortar", _("Setting mortar hardens before grout"), "24", Origin.PRACTICE),
        _cure("grout", _("Grout hardens before use"), "24", Origin.PRACTICE),
        _cure("sealant", _("Sealant cures before water"), "24", Origin.PRACTICE),
    )
}

_ALWAYS = phrase(_("always"))
_MEMBRANE = phrase(_("where membrane is laid"))
_SHINGLE = phrase(_("corners first, then the strips between them; common practice, no source"))

STEPS: Mapping[str, TradeStep] = {
    step.key: step
    for step in (
        TradeStep("protect", phrase(_("Protect and set up")), Scope.JOB, ("protect",), (), _ALWAYS),
        TradeStep(
            "demolish",
            phrase(_("Demolish")),
            Scope.SURFACE,
            ("demolish_tile", "demolish_resilient", "demolish_carpet", "demolish_wood", "demolish_board"),
            (After("protect", Scope.JOB),),
            phrase(_("where something must come off")),
        ),
        # Dust of demolition settles on every surface of the room, so its own preparation waits for all of it.
        TradeStep(
            "prepare",
            phrase(_("Prepare the substrate")),
            Scope.SURFACE,
            ("prepare", "prepare_sealed"),
            (After("demolish", Scope.ROOM),),
            _ALWAYS,
        ),
        TradeStep(
            "level",
            phrase(_("Level or patch")),
            Scope.SURFACE,
            ("level",),
            (After("prepare", Scope.SURFACE),),
            phrase(_("where the substrate is uneven")),
        ),
        TradeStep(
            "board",
            phrase(_("Fix backer board")),
            Scope.SURFACE,
            ("backer_board",),
            (After("level", Scope.SURFACE, "levelling"),),
            phrase(_("where new board is fixed")),
        ),
        TradeStep(
            "accept_substrate",
            phrase(_("Accept the substrate: clean, flat, sound, no bond breaker")),
            Scope.ROOM,
            ("check",),
            (
                After("board", Scope.ROOM),
                After("level", Scope.ROOM, "levelling"),
                After("prepare", Scope.ROOM),
            ),
            _ALWAYS,
            phrase(_("flatness: ANSI A108.02 4.2.2; as a hold point: common practice, no source")),
            HoldPoint.SUBSTRATE,
        ),
        TradeStep(
            "corners",
            phrase(_("Membrane: corner pieces")),
            Scope.ROOM,
            ("membrane_corners",),
            (After("accept_substrate", Scope.ROOM),),
            _MEMBRANE,
            _SHINGLE,
        ),
        TradeStep(
            "strips",
            phrase(_("Membrane: strips between the corners")),
            Scope.ROOM,
            ("membrane_strips",),
            (After("corners", Scope.ROOM),),
            _MEMBRANE,
            _SHINGLE,
        ),
        # Floor and walls both lie over the strips; neither needs the other first, so the crew may choose.
        TradeStep(
            "floor_sheets",
            phrase(_("Membrane: floor sheets")),
            Scope.SURFACE,
            ("membrane_floor",),
            (After("strips", Scope.ROOM),),
            _MEMBRANE,
        ),
        TradeStep(
            "wall_sheets",
            phrase(_("Membrane: wall sheets, lowest course first")),
            Scope.SURFACE,
            ("membrane_wall",),
            (After("strips", Scope.ROOM),),
            _MEMBRANE,
            phrase(_("upper over lower, like shingles; common practice, no source")),
        ),
        TradeStep(
            "penetrations",
            phrase(_("Membrane: penetrations and beads of sealant")),
            Scope.ROOM,
            ("membrane_penetrations", "membrane_sealant"),
            (After("floor_sheets", Scope.ROOM), After("wall_sheets", Scope.ROOM)),
            _MEMBRANE,
        ),
        TradeStep(
            "accept_membrane",
            phrase(_("Accept the membrane: laps, corners, seams, penetrations, no air")),
            Scope.ROOM,
            ("check",),
            (After("penetrations", Scope.ROOM),),
            _MEMBRANE,
            hold_point=HoldPoint.MEMBRANE,
        ),
        TradeStep(
            "fill_test",
            phrase(_("Flood test: fill")),
            Scope.ROOM,
            ("flood_test_fill",),
            (
                After("accept_membrane", Scope.ROOM),
                After("floor_sheets", Scope.ROOM, "before test", own=True),
                After("penetrations", Scope.ROOM, "before test", own=True),
            ),
            phrase(_("shower floors, and where the owner asks")),
            _D5957,
        ),
        TradeStep(
            "read_test",
            phrase(_("Flood test: read")),
            Scope.ROOM,
            ("flood_test_read",),
            (After("fill_test", Scope.ROOM, "flood test"),),
            phrase(_("shower floors, and where the owner asks")),
            _D5957,
            HoldPoint.FLOOD_TEST,
        ),
        TradeStep(
            "layout",
            phrase(_("Lay out the tile")),
            Scope.SURFACE,
            ("layout",),
            (After("read_test", Scope.ROOM), After("accept_membrane", Scope.ROOM)),
            phrase(_("where tile is set")),
            phrase(_("centred and balanced: ANSI A108.02 4.3.1")),
        ),
        TradeStep(
            "tile",
            phrase(_("Set the tile")),
            Scope.SURFACE,
            ("set_floor_tile", "set_wall_tile", "set_mosaic", "cut_tile", "cut_holes", "trim"),
            (
                After("layout", Scope.SURFACE),
                After("floor_sheets", Scope.SURFACE, "bond"),
                After("wall_sheets", Scope.SURFACE, "bond"),
            ),
            phrase(_("where tile is set")),
        ),
        TradeStep(
            "check_coverage",
            phrase(_("Check the setting coverage by lifting a tile")),
            Scope.ROOM,
            ("check",),
            (After("tile", Scope.ROOM),),
            phrase(_("where tile is set")),
            phrase(_("80 % dry, 95 % wet and outside: ANSI A108.5 2.2.3")),
            HoldPoint.COVERAGE,
        ),
        TradeStep(
            "grout",
            phrase(_("Grout")),
            Scope.ROOM,
            ("grout",),
            (After("check_coverage", Scope.ROOM), After("tile", Scope.ROOM, "mortar")),
            phrase(_("where tile is set")),
        ),
        TradeStep(
            "joints",
            phrase(_("Movement joints")),
            Scope.ROOM,
            ("movement_joints",),
            (After("grout", Scope.ROOM),),
            phrase(_("where tile is set")),
            phrase(_("perimeter and changes of plane: ANSI A108.02 4.4")),
            HoldPoint.JOINTS,
        ),
        TradeStep(
            "clean_up",
            phrase(_("Clean up")),
            Scope.JOB,
            ("clean_up",),
            # Each by name, since a room may have no grout and another no membrane.
            tuple(
                After(step, Scope.JOB)
                for step in ("joints", "check_coverage", "read_test", "accept_membrane", "accept_substrate")
            ),
            _ALWAYS,
        ),
        TradeStep(
            "final",
            phrase(_("Final check with the customer")),
            Scope.JOB,
            ("check",),
            (After("clean_up", Scope.JOB),),
            _ALWAYS,
            hold_point=HoldPoint.FINAL,
        ),
    )
}

_WIDTH = {Scope.SURFACE: 0, Scope.ROOM: 1, Scope.JOB: 2}
_COLD_BELOW_C = Decimal(10)


def first_test_wait(installed_at_c: Decimal | None = None) -> Cure:
    """Return how long a membrane stands before a flood test, by the temperature it was laid at (°C).

    Source: ASTM D5957 5.4: not in the first 24 h; 48 h when laid below 10 °C (50 °F).
    """
    is_cold = installed_at_c is not None and installed_at_c < _COLD_BELOW_C
    return CURES["before test, cold" if is_cold else "before test"]


@dataclass(frozen=True)
class Place:
    """A step as it is found in a job; *surface* "" for steps of a room, *room* "" for steps of the job."""

    step: str
    room: str = ""
    surface: str = ""


def order_links(places: Iterable[Place]) -> dict[Place, tuple[tuple[Place, str], ...]]:
    """Return, for every place, the places it waits for and on what wait (a key as in :class:`After`).

    A step that is not there (no demolition, no board) hands on what it would have waited for itself, at the
    wider of the two scopes. Its own wait goes with it: what is not laid does not cure.

    Raises:
        DomainError: no such step (rule ``sequence.step``).

    >>> places = [Place("demolish", "bath", "floor"), Place("corners", "bath")]
    >>> order_links(places)[Place("corners", "bath")]
    ((Place(step='demolish', room='bath', surface='floor'), ''),)
    """
    by_step: dict[str, list[Place]] = {}
    for place in places:
        if place.step not in STEPS:
            raise DomainError(
                phrase(gettext_noop("“{step}” is not a step of the trade."), step=place.step),
                rule="sequence.step",
                step=place.step,
            )
        by_step.setdefault(place.step, []).append(place)
    return {
        place: tuple(_links(place, place.step, Scope.SURFACE, by_step))
        for known in by_step.values()
        for place in known
    }


def _links(
    place: Place, step: str, least: Scope, by_step: Mapping[str, list[Place]]
) -> dict[tuple[Place, str], None]:
    found: dict[tuple[Place, str], None] = {}
    for link in STEPS[step].after:
        scope = max(least, link.scope, key=_WIDTH.__getitem__)
        here = [other for other in by_step.get(link.step, ()) if _reaches(place, other, scope)]
        if here:
            # Only *place* itself waits for its own sake, not those to whom a missing step hands its links on.
            wait = "" if link.own and step != place.step else link.wait
            found.update(dict.fromkeys((other, wait) for other in here))
        else:
            found.update(_links(place, link.step, scope, by_step))
    return found


def _reaches(place: Place, other: Place, scope: Scope) -> bool:
    if scope is Scope.JOB:
        return True
    if place.room != other.room:
        return False
    return scope is Scope.ROOM or not place.surface or not other.surface or place.surface == other.surface
