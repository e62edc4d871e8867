"""Planning, moving, undoing, two people at once, and keeping in step with the job."""

import datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from jobs.schedule import services
from jobs.schedule.models import DayOff, FeedLink, Plan, PlanChange, Visit, VisitPerson, Wait
from jobs.schedule.selectors import visits_of
from jobs.work.models import Stage
from jobs.work.services import job_move, job_plan
from tests.estimates.quotes.changes.factories import add_a_room
from tests.jobs.work.factories import job as sold_job

from .factories import BEFORE, MONDAY, crew_of, planned, visits

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("America/Chicago")
DAY = datetime.timedelta(days=1)
AT = BEFORE + DAY


def when(plan):
    return [f"{visit.starts_at.astimezone(ZONE):%a %d %H:%M}" for visit in visits(plan)]


def move(visit, day, by, **options):
    plan = Plan.objects.get(pk=visit.plan_id)
    return services.visit_move(visit=visit, seen=plan.revision, day=day, by=by, at=AT, **options)


PLANNED = ["Mon 01 08:00", "Wed 03 08:00", "Thu 04 09:00", "Fri 05 08:00", "Mon 08 08:00"]


def test_a_job_gets_its_visits_when_its_start_and_crew_are_set(office_manager, installer):
    job = sold_job(by=office_manager)

    job_plan(job=job, starts_on=MONDAY, crew=[installer], crew_notes="", by=office_manager)

    found = visits(job.plan)
    assert found[0].day == MONDAY
    assert found[0].steps
    assert all(list(visit.people.values_list("person", flat=True)) == [installer.pk] for visit in found)
    assert Wait.objects.filter(visit__plan=job.plan, cure="mortar").exists()
    job.refresh_from_db()
    assert (job.stage, job.starts_on) == (Stage.SCHEDULED, MONDAY)


def test_saving_notes_alone_moves_nothing(office_manager, installer):
    job = sold_job(by=office_manager)
    plan = {"starts_on": MONDAY, "crew": [installer], "by": office_manager}
    job_plan(job=job, crew_notes="", **plan)

    job_plan(job=job, crew_notes="Ring twice.", **plan)

    assert job.plan.changes.count() == 1


def test_another_start_plans_the_job_anew(office_manager, installer):
    job = sold_job(by=office_manager)
    job_plan(job=job, starts_on=MONDAY, crew=[installer], crew_notes="", by=office_manager)
    before = {visit.uid for visit in visits(job.plan)}

    job_plan(job=job, starts_on=MONDAY + 7 * DAY, crew=[installer], crew_notes="", by=office_manager)

    found = visits(job.plan)
    assert found[0].day == MONDAY + 7 * DAY
    assert {visit.uid for visit in found} == before
    assert all(visit.sequence == 1 for visit in found)


def test_a_start_on_a_closed_day_becomes_the_first_day_of_work(office_manager, installer):
    job = sold_job(by=office_manager)

    job_plan(job=job, starts_on=MONDAY - DAY, crew=[installer], crew_notes="", by=office_manager)

    job.refresh_from_db()
    assert job.starts_on == MONDAY


def test_the_small_sequence_is_planned_as_by_hand(installer, other_installer):
    assert when(planned(installer, other_installer)) == PLANNED


def test_what_follows_moves_along_and_is_said(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    fill = visits(plan)[1]

    draft = move(fill, MONDAY + 3 * DAY, office_manager)

    assert when(plan) == ["Mon 01 08:00", "Thu 04 08:00", "Fri 05 09:00", "Mon 08 08:00", "Tue 09 10:00"]
    assert draft.said(fill)[0] == (
        "Tile setting, checks and tests: from Thu Jun 4, 9:00 AM–4:30 PM to Fri Jun 5, 9:00 AM–4:30 PM"
    )
    assert len(draft.said(fill)) == 3
    fill.refresh_from_db()
    assert (fill.set_by, fill.sequence) == (office_manager, 1)
    flood = Wait.objects.get(visit__plan=plan, cure="flood test")
    assert flood.ends_at - flood.starts_at == DAY
    assert flood.visit == fill


def test_the_first_visit_keeps_the_jobs_start_in_step(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)

    move(visits(plan)[0], MONDAY + DAY, office_manager)

    plan.job.refresh_from_db()
    assert plan.job.starts_on == MONDAY + DAY


def test_a_move_into_a_cure_is_refused_with_the_first_day_that_is_right(
    office_manager, installer, other_installer
):
    plan = planned(installer, other_installer)

    with pytest.raises(
        ValidationError, match=r"mortar, until Sat Jun 6, 10:00 AM\. It can begin on Mon Jun 8"
    ):
        move(visits(plan)[4], MONDAY + 4 * DAY, office_manager)

    assert when(plan) == PLANNED
    assert plan.changes.count() == 1


def test_a_visit_set_by_hand_stays_and_begins_too_early_in_words(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    # Mortar is hard by then: grout on Wednesday the 10th, put there by hand.
    move(visits(plan)[4], MONDAY + 9 * DAY, office_manager)

    move(visits(plan)[0], MONDAY + 9 * DAY, office_manager)

    grout = visits(plan)
    late = [visit for visit in grout if visit.waits_until]
    assert [visit.day for visit in late] == [MONDAY + 9 * DAY]
    assert late[0].waits_for["message"] == "mortar"


def test_visits_set_by_hand_move_along_when_the_person_says_so(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    move(visits(plan)[4], MONDAY + 9 * DAY, office_manager)

    move(visits(plan)[0], MONDAY + 9 * DAY, office_manager, loose=True)

    assert not [visit for visit in visits(plan) if visit.waits_until]


def test_planning_anew_leaves_what_was_set_by_hand(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    move(visits(plan)[4], MONDAY + 9 * DAY, office_manager)
    plan.refresh_from_db()

    services.plan_make(job=plan.job, by=office_manager, seen=plan.revision, at=AT)
    assert when(plan)[4] == "Wed 10 08:00"

    plan.refresh_from_db()
    services.plan_make(job=plan.job, by=office_manager, seen=plan.revision, loose=True, at=AT)
    assert when(plan) == PLANNED
    assert not plan.visits.exclude(set_by=None).exists()


def test_what_has_begun_stays_and_counts_as_done(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    job_move(job=plan.job, stage=Stage.SUBSTRATE, by=office_manager)
    uid = visits(plan)[0].uid
    tuesday = datetime.datetime(2026, 6, 2, 18, tzinfo=ZONE)

    services.plan_make(job=plan.job, by=office_manager, start=MONDAY + 7 * DAY, at=tuesday)

    found = visits(plan)
    assert found[0].uid == uid
    assert when(plan) == ["Mon 01 08:00", "Mon 08 08:00", "Tue 09 09:00", "Wed 10 08:00", "Thu 11 10:00"]


def test_an_undo_puts_everything_back_and_can_be_undone(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    move(visits(plan)[0], MONDAY + DAY, office_manager)
    moved = when(plan)
    plan.refresh_from_db()

    services.plan_undo(plan=plan, seen=plan.revision, by=office_manager, at=AT)
    assert when(plan) == PLANNED
    plan.job.refresh_from_db()
    assert plan.job.starts_on == MONDAY

    services.plan_undo(plan=plan, seen=plan.revision, by=office_manager, at=AT)
    assert when(plan) == moved


def test_an_undo_brings_a_dropped_visit_back_with_its_people(office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    grout = visits(plan)[4]
    services.visit_drop(visit=grout, seen=plan.revision, by=office_manager, at=AT)
    grout.refresh_from_db()
    assert grout.cancelled_at == AT
    assert len(visits(plan)) == 4
    plan.refresh_from_db()

    services.plan_undo(plan=plan, seen=plan.revision, by=office_manager, at=AT)

    back = visits(plan)[4]
    assert back.uid == grout.uid
    assert back.sequence == grout.sequence + 1
    assert back.people.filter(left_at=None).count() == 2


def test_of_two_people_the_second_is_told_and_nothing_is_lost(office_manager, owner, installer):
    plan = planned(installer)
    first, second = visits(plan)[0], visits(plan)[1]
    services.visit_move(visit=first, seen=plan.revision, day=MONDAY + DAY, by=office_manager, at=AT)
    stored = when(plan)

    with pytest.raises(services.ChangedMeanwhile, match=r"Priya has changed this plan .*moved a visit"):
        services.visit_move(visit=second, seen=plan.revision, day=MONDAY + 20 * DAY, by=owner, at=AT)

    assert when(plan) == stored


def test_who_is_put_on_a_visit_joins_the_crew(office_manager, installer, other_installer):
    plan = planned(installer)
    visit = visits(plan)[0]

    move(visit, visit.day, office_manager, people=[other_installer])

    assert crew_of(plan) == [installer.pk, other_installer.pk]
    assert list(visits_of(other_installer, MONDAY)) == [visit]
    assert list(visits_of(installer, MONDAY)) == []
    assert VisitPerson.objects.get(visit=visit, person=installer).left_at == AT


def test_a_visit_of_another_kind_can_be_added(office_manager, installer):
    plan = planned(installer)

    visit = services.visit_add(
        plan=plan,
        seen=plan.revision,
        title="Meet the plumber",
        day=MONDAY - 3 * DAY,
        clock=datetime.time(15),
        minutes=45,
        people=[installer],
        by=office_manager,
        at=AT,
    )

    assert (visit.minutes, visit.set_by) == (45, office_manager)
    assert visits(plan)[0] == visit


def test_a_job_that_is_cancelled_or_over_takes_its_visits_off(office_manager, installer):
    plan = planned(installer, starts_on=datetime.date(2199, 1, 7))

    job_move(job=plan.job, stage=Stage.CANCELLED, by=office_manager)

    assert visits(plan) == []
    assert plan.visits.filter(cancelled_at=None).count() == 0


def test_a_job_without_a_sequence_has_one_day(office_manager, installer):
    plan = planned(installer, network={})

    (visit,) = visits(plan)
    assert (visit.day, visit.minutes) == (MONDAY, 480)


def test_days_off_do_not_overlap(installer):
    services.day_off_set(person=installer, first_on=MONDAY, last_on=MONDAY + 2 * DAY)

    with pytest.raises(ValidationError, match="off already"):
        services.day_off_set(person=installer, first_on=MONDAY + 2 * DAY, last_on=MONDAY + 4 * DAY)
    with pytest.raises(ValidationError, match="expected a day from"):
        services.day_off_set(person=installer, first_on=MONDAY + 9 * DAY, last_on=MONDAY + 8 * DAY)


def refused(name, act):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        act()


def test_the_database_keeps_the_promises_of_a_visit(installer):
    visit = visits(planned(installer))[0]
    rows = Visit.objects.filter(pk=visit.pk)

    refused("visit_ends_after_it_starts", lambda: rows.update(ends_at=visit.starts_at))
    refused("visit_within_a_day", lambda: rows.update(minutes=0))
    refused("visit_set_by_somebody", lambda: rows.update(set_by=installer))
    refused("visit_changed_after_made", lambda: rows.update(changed_at=visit.made_at - DAY))


def test_the_database_keeps_the_other_promises(installer, office_manager):
    plan = planned(installer)
    visit = visits(plan)[0]
    wait = Wait.objects.filter(visit__plan=plan).first()

    refused("plan_revision_counts", lambda: Plan.objects.filter(pk=plan.pk).update(revision=0))
    refused("plan_change_kind_known", lambda: PlanChange.objects.update(kind="odd"))
    refused("wait_ends_after", lambda: Wait.objects.filter(pk=wait.pk).update(ends_at=wait.starts_at))
    row = {"first_on": MONDAY, "last_on": MONDAY - DAY}
    refused("day_off_ends_after", lambda: DayOff.objects.create(person=installer, **row))
    # SQLite names the columns of a UNIQUE, PostgreSQL the constraint.
    refused("visit", lambda: VisitPerson.objects.create(visit=visit, person=installer))
    link = {"made_by": office_manager, "made_at": AT}
    FeedLink.objects.create(person=installer, token_sha256="a", **link)
    refused("feed", lambda: FeedLink.objects.create(person=installer, token_sha256="b", **link))
    FeedLink.objects.create(is_office=True, token_sha256="c", **link)
    refused("feed", lambda: FeedLink.objects.create(is_office=True, token_sha256="d", **link))
    refused("feed_of_a_person", lambda: FeedLink.objects.create(token_sha256="e", **link))
    refused("feed_revoked_by", lambda: FeedLink.objects.filter(person=installer).update(revoked_at=AT))


def test_a_room_that_a_signed_change_added_is_planned_with_the_rest(office_manager, installer):
    job = sold_job(by=office_manager)
    job = job_plan(
        job=job, starts_on=timezone.localdate(), crew=[installer], crew_notes="", by=office_manager
    )
    plan = Plan.objects.get(job=job)
    before = sum(visit.minutes for visit in visits(plan))
    add_a_room(job)

    services.plan_make(job=job, by=office_manager)

    plan = Plan.objects.get(job=job)
    assert {room for visit in visits(plan) for room in visit.rooms} == {"Bath 1", "Second bath"}
    assert sum(visit.minutes for visit in visits(plan)) > before
    # What was done can be undone.
    services.plan_undo(plan=plan, seen=plan.revision, by=office_manager)
    assert {room for visit in visits(plan) for room in visit.rooms} == {"Bath 1"}
