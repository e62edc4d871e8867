"""The jobs' part of the first page: what is under way stands apart from what is to come."""

import datetime

import pytest

from jobs.work.first_page import to_come, under_way
from jobs.work.models import Job, Stage

from .factories import job


def stands(section) -> list[str]:
    return [item.title.split()[0] for item in section.items] if section else []


@pytest.fixture
def many(office_manager) -> dict[str, Job]:
    rows = {
        "membrane": (Stage.MEMBRANE, datetime.date(2026, 3, 9)),
        "punch": (Stage.PUNCH, datetime.date(2026, 3, 2)),
        "undated": (Stage.ACCEPTED, None),
        "later": (Stage.SCHEDULED, datetime.date(2026, 6, 1)),
        "sooner": (Stage.SCHEDULED, datetime.date(2026, 5, 4)),
        "complete": (Stage.COMPLETE, datetime.date(2026, 1, 5)),
        "cancelled": (Stage.CANCELLED, None),
    }
    made = {}
    for name, (stage, starts_on) in rows.items():
        made[name] = job(by=office_manager, first=not made)
        Job.objects.filter(pk=made[name].pk).update(stage=stage, starts_on=starts_on)
    return made


def test_running_jobs_stand_apart_from_those_to_come(office_manager, many):
    number = {name: str(one.number) for name, one in many.items()}

    assert stands(under_way(office_manager)) == [number["punch"], number["membrane"]]
    # A job without a date comes last, on SQLite as on PostgreSQL.
    assert stands(to_come(office_manager)) == [number["sooner"], number["later"], number["undated"]]
    assert under_way(office_manager).items[0].when == "since Mar 2, 2026"


def test_who_is_on_no_job_is_told_once(office_manager, installer, many):
    assert under_way(installer) is None
    assert "The office puts you on one" in to_come(installer).empty

    Job.objects.filter(stage__in=[Stage.ACCEPTED, Stage.SCHEDULED]).update(stage=Stage.CANCELLED)
    assert to_come(office_manager) is None
