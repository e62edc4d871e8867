"""What stands in the way of a stage, in words, and for how long."""

import datetime
import uuid
import zoneinfo

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from estimates.takeoff.model import BondMethod, Exposure, Substrate, SurfaceKind
from jobs.inspections import services
from jobs.inspections.checklist import RoomFacts, Step
from jobs.inspections.holds import standing_in_the_way, stops
from jobs.inspections.models import Hold, PlannedCheck
from jobs.inspections.selectors import checks_of
from jobs.work.daily import services as daily
from jobs.work.models import HoursEntry, ProgressEntry, Stage
from jobs.work.services import job_move
from tests.contracting.factories import SiteFactory

from .factories import HOUR, check, job, pass_all, planned_job, record, surface

pytestmark = pytest.mark.django_db
CHICAGO = zoneinfo.ZoneInfo("America/Chicago")


def floor(**values: object) -> RoomFacts:
    """A bath's floor, not a shower: no flood test unless it is asked for."""
    return RoomFacts("bath", "Hall bath", (surface(**({"kind": SurfaceKind.FLOOR} | values)),))


def accept_all(of, by, laid_at):
    pass_all(of, by, Hold.SUBSTRATE, Hold.MEMBRANE, skip=("laid",))
    record(check(of, "laid"), by, laid_at=laid_at)


def test_nothing_is_done_without_a_plan():
    assert stops(job(), Stage.MEMBRANE) == [
        "This job has no inspection plan yet; make it on its inspection page."
    ]


def test_membrane_waits_for_the_substrate(installer):
    made = planned_job()
    [sentence] = stops(made, Stage.MEMBRANE)

    assert sentence == (
        "Hall bath, Substrate: still to be checked: Clean and sound, No bond breaker, Joints even and 4 more."
    )
    pass_all(made, installer, Hold.SUBSTRATE)
    assert stops(made, Stage.MEMBRANE) == []


def test_a_step_back_is_never_stopped():
    made = planned_job(stage=Stage.TILE)

    assert stops(made, Stage.MEMBRANE) == []
    assert stops(made, Stage.SUBSTRATE) == []


def test_tile_waits_for_the_cure_to_the_minute(installer, time_machine):
    laid = datetime.datetime(2026, 6, 10, 8, 40, tzinfo=CHICAGO)
    time_machine.move_to(laid + HOUR, tick=False)
    made = planned_job(floor(), stage=Stage.MEMBRANE)
    accept_all(made, installer, laid)

    assert stops(made, Stage.TILE) == [
        "Tile may start at 10:40 AM: the bond in Hall bath, Floor cures until then."
    ]
    assert stops(made, Stage.TILE, now=laid + 2 * HOUR - datetime.timedelta(seconds=1)) != []
    assert stops(made, Stage.TILE, now=laid + 2 * HOUR) == []


def test_a_cure_that_was_overridden_stops_again_when_membrane_is_laid_anew(installer, office_manager):
    made = planned_job(floor(), stage=Stage.MEMBRANE)
    accept_all(made, installer, timezone.now())
    services.hold_override(
        job=made, step=Step.TILE, reason="Warm slab, the maker agreed.", by=office_manager, key=uuid.uuid4()
    )
    assert stops(made, Stage.TILE) == []

    record(check(made, "laid"), installer, laid_at=timezone.now())

    assert stops(made, Stage.TILE)[0].startswith("Tile may start at")


def test_an_overnight_cure_says_its_day(installer, time_machine):
    laid = datetime.datetime(2026, 6, 10, 16, 30, tzinfo=CHICAGO)
    time_machine.move_to(laid + HOUR, tick=False)
    made = planned_job(floor(method=BondMethod.MORTAR), stage=Stage.MEMBRANE)
    accept_all(made, installer, laid)

    [sentence] = stops(made, Stage.TILE)
    assert sentence.startswith("Tile may start at 4:30 AM on Thu Jun 11:")


def test_a_cure_over_the_clock_change_takes_its_real_hours(installer, time_machine):
    """8 March 2026, 2:00 is skipped in Chicago (time zone database): 4 h after 23:30 it is 4:30."""
    laid = datetime.datetime(2026, 3, 7, 23, 30, tzinfo=CHICAGO)
    time_machine.move_to(laid + HOUR, tick=False)
    made = planned_job(floor(method=BondMethod.ORGANIC), stage=Stage.MEMBRANE)
    accept_all(made, installer, laid)

    assert "Tile may start at 4:30 AM" in stops(made, Stage.TILE)[0]


def test_the_time_is_said_as_on_the_site(installer, time_machine):
    laid = datetime.datetime(2026, 6, 10, 8, 40, tzinfo=zoneinfo.ZoneInfo("America/Los_Angeles"))
    time_machine.move_to(laid + HOUR, tick=False)
    made = planned_job(
        floor(), site=SiteFactory.create(time_zone="America/Los_Angeles"), stage=Stage.MEMBRANE
    )
    accept_all(made, installer, laid)

    assert "Tile may start at 10:40 AM:" in stops(made, Stage.TILE)[0]


def test_tile_waits_for_the_flood_test_of_a_shower(installer):
    made = planned_job(stage=Stage.MEMBRANE)
    pass_all(made, installer, Hold.SUBSTRATE, Hold.MEMBRANE)

    assert stops(made, Stage.TILE) == ["Hall bath, Flood test: still to be checked: Flood test."]


def test_one_room_does_not_stop_another(installer):
    made = planned_job(floor(), RoomFacts("hall", "Foyer", (_dry(),)))
    accept_all_but_foyer(made, installer)

    assert standing_in_the_way(made, Step.TILE, room="bath") == []
    assert len(standing_in_the_way(made, Step.TILE, room="hall")) == 1


def _dry():
    return surface(
        kind=SurfaceKind.FLOOR, exposure=Exposure.DRY, membrane=False, substrate=Substrate.CONCRETE
    )


def accept_all_but_foyer(made, installer):
    for state in checks_of(made).states:
        if state.planned.room_key == "bath" and state.planned.hold in {Hold.SUBSTRATE, Hold.MEMBRANE}:
            record(state.planned, installer)


def test_a_failed_check_stops_by_its_name(installer):
    made = planned_job(stage=Stage.MEMBRANE)
    record(check(made, "bubbles"), installer, answer=False, note="Air by the drain")

    assert any("“No bubbles” failed, and non-conformance" in text for text in stops(made, Stage.TILE))


def test_a_lifted_tile_is_not_recorded_before_tile_may_start(installer):
    with pytest.raises(Exception, match="still to be checked"):
        record(check(planned_job(), "coverage"), installer)


def test_a_job_is_handed_over_when_all_has_passed(installer):
    made = planned_job(floor(), stage=Stage.PUNCH)
    pass_all(made, installer, *Hold.values, skip=("final",))
    assert stops(made, Stage.COMPLETE) == [
        "Shower, Final check: still to be checked: Final check with the customer."
    ]

    record(check(made, "final"), installer)
    assert stops(made, Stage.COMPLETE) == []
    assert checks_of(made).next is None


def test_the_job_asks_before_it_moves(office_manager):
    made = planned_job()

    with pytest.raises(Exception, match="Hall bath, Substrate: still to be checked"):
        job_move(job=made, stage=Stage.MEMBRANE, by=office_manager)

    made.refresh_from_db()
    assert made.stage == Stage.SUBSTRATE


def test_what_is_next_follows_the_trade(installer):
    made = planned_job()
    assert checks_of(made).next.planned.key == "sound"

    pass_all(made, installer, Hold.SUBSTRATE)
    assert checks_of(made).next.planned.key == "laid"

    record(check(made, "corners"), installer, answer=False, note="Piece missing")
    assert checks_of(made).next_step == Step.MEMBRANE


# --- The log ----------------------------------------------------------------------------------------------


def ready_for_tile(of, by, laid_at):
    pass_all(of, by, Hold.SUBSTRATE, Hold.MEMBRANE, skip=("laid",))
    for planned in PlannedCheck.objects.filter(plan__job=of, key="laid"):
        record(planned, by, laid_at=laid_at)


@pytest.mark.parametrize("address", ["work:log-hours", "work:log-progress"])
@pytest.mark.parametrize("who", ["installer", "office_manager"])
def test_tile_cannot_be_logged_on_the_log_page_before_its_membrane_and_cure(
    request, client, time_machine, address, who
):
    """The page that works without a phone's app holds work up as the app does, whoever logs."""
    laid = datetime.datetime(2026, 6, 10, 8, 40, tzinfo=CHICAGO)
    time_machine.move_to(laid + HOUR, tick=False)
    person = request.getfixturevalue(who)
    made = planned_job(floor(), stage=Stage.MEMBRANE, crew=(person,))
    client.force_login(person)

    def tried(step="tile"):
        told = {"day": "2026-06-10", "step": step, "minutes": "1:00", "done_basis_points": "10"}
        told |= {"person": person.pk, "key": str(uuid.uuid4())}
        return client.post(reverse(address, args=[made.pk]), told)

    def logged():
        return HoursEntry.objects.filter(job=made).count() + ProgressEntry.objects.filter(job=made).count()

    assert "still to be checked" in tried().content.decode()
    ready_for_tile(made, person, laid)
    assert "cures until then" in tried().content.decode()
    assert logged() == 0
    assert tried("waterproofing").status_code == 302
    time_machine.move_to(laid + 2 * HOUR, tick=False)

    assert tried().status_code == 302
    assert logged() == 2


def tile_hours(of, person, minutes=60, step="tile", **values):
    act = daily.Act(uuid.uuid4(), of, timezone.localdate() - datetime.timedelta(days=1), person)
    return daily.hours_log(act=act, person=person, step=step, minutes=minutes, **values)


def test_an_override_lets_tile_be_logged_and_shows(installer, owner):
    made = planned_job(floor(), stage=Stage.MEMBRANE, crew=(installer,))
    with pytest.raises(ValidationError, match="still to be checked"):
        tile_hours(made, installer)

    services.hold_override(
        job=made, step=Step.TILE, reason="The inspector saw it all himself.", by=owner, key=uuid.uuid4()
    )

    assert tile_hours(made, installer).pk
    assert checks_of(made).overrides


def test_what_was_logged_may_be_corrected_after_a_check_failed_and_no_tile_comes_in_by_a_correction(
    installer,
):
    made = planned_job(floor(), stage=Stage.MEMBRANE, crew=(installer,))
    ready_for_tile(made, installer, timezone.now() - 30 * HOUR)
    tiled, other = tile_hours(made, installer), tile_hours(made, installer, step="preparation")
    laps = check(made, "side_laps")
    record(laps, installer, reading=0, supersedes=laps.records.get(), reason="Read again, not the lap.")

    with pytest.raises(ValidationError, match="is open"):
        tile_hours(made, installer, supersedes=other)
    with pytest.raises(ValidationError, match="is open"):
        daily.hours_repeat(key=uuid.uuid4(), job=made, day=timezone.localdate(), by=installer)
    shorter = tile_hours(made, installer, 30, supersedes=tiled)
    assert tile_hours(made, installer, 0, supersedes=shorter).minutes == 0
