"""The plan of a real quote: measured, issued, signed, and so made into a job."""

import copy
import datetime

import pytest

from estimates.quotes.services import quote_issue
from estimates.takeoff.sequence import HoldPoint
from estimates.takeoff.units import System
from jobs.inspections.checklist import DATA_SHEET, JobFacts, plan
from jobs.inspections.models import InspectionPlan, PlannedCheck
from jobs.inspections.planning import cures_sold, facts_of, room_facts
from jobs.work.services import quote_sign_on_paper
from tests.estimates.quotes.factories import AT, DAY, ready

pytestmark = pytest.mark.django_db


def test_a_signed_quote_becomes_a_job_with_its_inspection_plan(office_manager):
    quote = quote_issue(estimate=ready(), by=office_manager, at=AT)
    job = quote_sign_on_paper(quote=quote, name="Marigold Ferry", signed_on=DAY, by=office_manager)

    checks = PlannedCheck.objects.filter(plan__job=job)
    facts = facts_of(job)

    assert InspectionPlan.objects.get().job == job
    assert {check.key for check in checks} >= {"sound", "flat_long", "laid", "coverage", "final"}
    # A bath floor with a tub is no shower floor, so nobody floods it.
    assert not checks.filter(hold=HoldPoint.FLOOD_TEST).exists()
    assert [room.name for room in facts.rooms] == ["Bath 1"]
    [floor] = facts.rooms[0].surfaces
    assert floor.tile_edge_mm is not None
    assert checks.get(key="laid").wait_seconds == 2 * 3600
    # Laps are asked for where the frozen takeoff has them.
    [room] = quote.snapshot["work"]["takeoff"]["rooms"]
    assert checks.filter(key="side_laps").exists() is any(lap["side"] for lap in room["laps"])


def test_the_cure_is_that_of_the_agents_data_sheet(office_manager):
    quote = quote_issue(estimate=ready(), by=office_manager, at=AT)
    work = copy.deepcopy(quote.snapshot["work"])
    [bond] = [wait for wait in work["takeoff"]["schedule"]["waits"] if wait["cure"]["key"] == "bond"]
    bond["cure"]["hours"] = "5.5"
    [room] = work["room_set"]["rooms"]
    facts = JobFacts(System.INCH, (room_facts(room, work["tiles"], None, cures_sold(work)),))

    [laid] = [check for check in plan(facts) if check.template.key == "laid"]

    assert laid.wait == datetime.timedelta(hours=5, minutes=30)
    assert laid.source == DATA_SHEET


def test_without_a_data_sheet_the_cure_is_the_trades_own():
    assert cures_sold({}) == {}
