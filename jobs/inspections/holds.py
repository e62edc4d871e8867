"""What stands before the next step of the work, in words: checks that have not passed, cures that run."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.work.models import Job, Stage

from . import limits
from .checklist import AFTER_CURE, NEEDS, Step
from .models import CheckRecord, Hold
from .selectors import HOLD_ORDER, STAGE_ORDER, STEP_OF_STAGE, CheckState, JobChecks, checks_of, flood_ends_at

_NAMED = 3
# The trade step whose work lies on the membrane.
TILE_STEP = "tile"


@dataclass(frozen=True)
class Obstacle:
    """What stands in the way, in words, and the checks it comes from (none: it cannot be overridden)."""

    sentence: str
    states: tuple[CheckState, ...] = ()


def standing_in_the_way(
    job: Job,
    step: Step,
    *,
    room: str = "",
    surface: str = "",
    now: datetime.datetime | None = None,
) -> list[str]:
    """Return in plain words what stops *step* in the job, a room or a surface; empty: it may start.

    Args:
        room, surface: keys of the takeoff; "" for all of them.
    """
    checks = checks_of(job, now=now)
    return [found.sentence for found in obstacles(checks, step, room=room, surface=surface)]


def stops(job: Job, to_stage: Stage, *, now: datetime.datetime | None = None) -> list[str]:
    """Return in plain words what stops the job from going forward to *to_stage*; empty: it may go."""
    step = STEP_OF_STAGE.get(Stage(to_stage))
    if step is None or STAGE_ORDER[Stage(to_stage)] <= STAGE_ORDER[Stage(job.stage)]:
        return []
    return standing_in_the_way(job, step, now=now)


def stops_log(job: Job, trade_step: str, now: datetime.datetime) -> list[str]:
    """Return in plain words what stops hours or quantities of a trade step from being logged at *now*.

    A job has its plan from its first moment; one that was put in without holds no log up.
    """
    if trade_step != TILE_STEP:
        return []
    checks = checks_of(job, now=now)
    return [] if checks.plan is None else stops_tile(checks)


def stops_tile(checks: JobChecks) -> list[str]:
    """Return in plain words why no room may be tiled yet; empty: one may.

    Hours and quantities name no room, so they wait until there is one where tile may be set.
    """
    rooms = {state.planned.room_key for state in checks.states if state.planned.room_key} or {""}
    stopped = [obstacles(checks, Step.TILE, room=room) for room in sorted(rooms)]
    return [one.sentence for one in stopped[0]] if all(stopped) else []


def obstacles(checks: JobChecks, step: Step, *, room: str = "", surface: str = "") -> list[Obstacle]:
    """Return what stands before *step*, in the order of the trade."""
    if checks.plan is None:
        return [Obstacle(_("This job has no inspection plan yet; make it on its inspection page."))]
    needed = {hold.value for hold in NEEDS[step]}
    scope = [s for s in checks.in_scope(room, surface) if s.planned.hold in needed]
    undone = [s for s in scope if not s.passed and not s.is_waived(step)]
    return [*_undone(checks, undone), *_curing(checks, scope, step)]


def _undone(checks: JobChecks, states: Sequence[CheckState]) -> Iterable[Obstacle]:
    groups: dict[tuple[str, str], list[CheckState]] = defaultdict(list)
    for state in sorted(states, key=lambda s: (HOLD_ORDER[s.planned.hold], s.planned.position)):
        if state.open is not None:
            yield Obstacle(
                _("%(place)s: “%(check)s” failed, and non-conformance %(number)s is open.")
                % {
                    "place": state.planned.place or checks.job.title,
                    "check": _(state.planned.label),
                    "number": state.open.pk,
                },
                (state,),
            )
        elif state.running is not None:
            yield Obstacle(
                _("%(place)s: the flood test runs until %(time)s.")
                % {"place": state.planned.place, "time": checks.clock(flood_ends_at(state.running))},
                (state,),
            )
        else:
            groups[state.planned.room_name, state.planned.hold].append(state)
    for (room, hold), waiting in groups.items():
        yield Obstacle(_undone_sentence(room or checks.job.title, hold, waiting), tuple(waiting))


def _curing(checks: JobChecks, scope: Sequence[CheckState], step: Step) -> Iterable[Obstacle]:
    laid = [state for state in scope if state.cured_at is not None and state.current is not None]
    if step is Step.FLOOD:
        floods = [(may_flood_at(state.current), state) for state in laid if state.current]
        later = [(at, state) for at, state in floods if at > checks.now]
        if later:
            at, state = max(later, key=lambda pair: pair[0])
            yield Obstacle(
                _("The flood test may start at %(time)s: the membrane stands until then (%(source)s).")
                % {"time": checks.clock(at), "source": "ASTM D5957 5.4"}
            )
    if step in AFTER_CURE:
        curing = [
            (state.cured_at, state)
            for state in laid
            if state.cured_at and state.cured_at > checks.now and not state.is_waived(step)
        ]
        if curing:
            at, state = max(curing, key=lambda pair: pair[0])
            yield Obstacle(
                _("Tile may start at %(time)s: the bond in %(place)s cures until then.")
                % {"time": checks.clock(at), "place": state.planned.place},
                tuple(each for _at, each in curing),
            )


def _undone_sentence(place: str, hold: str, waiting: Sequence[CheckState]) -> str:
    """Name the checks that are still to be done; of many the first ones, since nobody reads ten names."""
    names = list(dict.fromkeys(_(state.planned.label) for state in waiting))
    said = {"place": place, "hold": Hold(hold).label, "more": len(names) - _NAMED}
    if len(names) <= _NAMED + 1:
        said["checks"] = ", ".join(names)
        return _("%(place)s, %(hold)s: still to be checked: %(checks)s.") % said
    said["checks"] = ", ".join(names[:_NAMED])
    return _("%(place)s, %(hold)s: still to be checked: %(checks)s and %(more)s more.") % said


def may_flood_at(laid: CheckRecord) -> datetime.datetime:
    """Return when the membrane of a laid record may be flooded (ASTM D5957 5.4)."""
    if laid.laid_at is None:
        raise ValueError(laid)
    return laid.laid_at + limits.flood_wait(is_cold=bool(laid.is_cold))
