"""Quantities done, temperatures and causes of delays in the daily log."""

import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from estimates.takeoff.units import System
from jobs.margins.standing import standing_of
from jobs.margins.variance import Labour
from jobs.work.daily import services
from jobs.work.daily.forms import DegreesField, degrees_text
from jobs.work.daily.quantities import Foreseen, foreseen_of
from jobs.work.models import DayNote, ProgressEntry
from jobs.work.templatetags.worktime import done, told
from tests.jobs.margins import factories
from tests.jobs.margins.factories import act
from tests.jobs.work.test_log_pages import post

pytestmark = pytest.mark.django_db


def hours(step, activity, quantity, unit):
    return {
        "step": step,
        "activity": activity,
        "hours": {"lines": [{"symbol": "Q", "value": quantity, "unit": unit}]},
    }


HOURS = [
    hours("waterproofing", "membrane_floor", "34.375", "sq ft"),
    hours("waterproofing", "membrane_walls", "11.625", "sq ft"),
    hours("waterproofing", "membrane_strips", "20.5", "ft"),
    hours("waterproofing", "membrane_corners", "6", "each"),
    hours("testing", "check", "3", "each"),
]


@pytest.fixture
def job(installer, office_manager, monkeypatch):
    """A job whose takeoff counts 46 sq ft of membrane in two rooms, and no unit for its checks."""
    plain = factories.snapshot

    def counted(*given):
        found = plain(*given)
        found["work"]["takeoff"]["hours"] = HOURS
        return found

    monkeypatch.setattr(factories, "snapshot", counted)
    factories.pay()
    return factories.job(installer, stage="membrane")


def test_a_step_is_counted_in_what_measures_it(job):
    """34.375 and 11.625 sq ft are 46; strips and corner pieces take time and measure nothing."""
    assert foreseen_of(job) == {"waterproofing": Foreseen(46_000, "sq ft")}


def test_a_quantity_becomes_its_share_of_the_takeoff_and_earns_it(job, installer):
    """23 of 46 sq ft are a half; of 400.00 of labour foreseen, 200.00 are earned."""
    entry = services.progress_log(act=act(job, installer), step="waterproofing", quantity_thousandths=23_000)

    assert (entry.done_basis_points, entry.of_thousandths, entry.unit) == (5000, 46_000, "sq ft")
    labour = next(
        one for one in standing_of(job).elements if isinstance(one, Labour) and one.step == "waterproofing"
    )
    assert labour.earned_cents == 20_000
    assert done(entry) == "23 of 46 sq ft, 50\u202f%"


def test_more_than_foreseen_is_all_of_it_and_kept_as_said(job, installer):
    entry = services.progress_log(act=act(job, installer), step="waterproofing", quantity_thousandths=50_000)
    assert (entry.done_basis_points, entry.quantity_thousandths) == (10_000, 50_000)


def test_a_share_or_a_quantity_and_only_of_what_is_counted(job, installer):
    for values in ({}, {"done_basis_points": 1, "quantity_thousandths": 1}):
        with pytest.raises(ValidationError, match="a quantity or a share"):
            services.progress_log(act=act(job, installer), step="waterproofing", **values)
    with pytest.raises(ValidationError, match="counts nothing for this step"):
        services.progress_log(act=act(job, installer), step="testing", quantity_thousandths=1000)
    assert services.progress_log(act=act(job, installer), step="testing", done_basis_points=500)


@pytest.mark.parametrize(
    ("typed", "system", "tenths", "shown"),
    [
        # The two fixed points and the crossing of the scales: 32 °F is 0 °C, 212 °F is 100 °C, -40 is -40.
        ("32", System.INCH, 0, "32"),
        ("-40", System.INCH, -400, "-40"),
        ("68", System.INCH, 200, "68"),
        ("70", System.INCH, 211, "70"),
        ("21", System.METRIC, 210, "21"),
    ],
)
def test_temperatures_are_kept_in_celsius_and_shown_as_typed(typed, system, tenths, shown):
    field = DegreesField()
    field.system = system
    assert field.clean(typed) == tenths
    assert degrees_text(tenths, system) == shown


@pytest.mark.parametrize("fahrenheit", range(-40, 131))
def test_every_whole_degree_comes_back(fahrenheit):
    assert degrees_text(DegreesField().clean(str(fahrenheit)), System.INCH) == str(fahrenheit)


def test_a_temperature_that_no_site_has_is_refused():
    with pytest.raises(ValidationError, match="expected a temperature on a site"):
        DegreesField().clean("400")


def test_a_delay_is_its_cause_and_weather_its_temperatures(job, installer):
    delay = services.note_log(act=act(job, installer), kind="delay", cause="trade", minutes=90)
    one = services.note_log(act=act(job, installer), kind="weather", low_tenths=200)
    both = services.note_log(
        act=act(job, installer), kind="weather", low_tenths=240, high_tenths=150, text="Dry"
    )

    assert told(delay) == "another trade"
    assert (one.low_tenths, one.high_tenths) == (200, 200)
    assert told(both) == "59–75\u202f°F: Dry"
    with pytest.raises(ValidationError, match="Say what happened"):
        services.note_log(act=act(job, installer), kind="delay")
    struck = services.note_log(act=act(job, installer), kind="delay", text="", supersedes=delay)
    assert told(struck) == ""


def test_the_database_keeps_quantities_and_temperatures(job, installer):
    made = services.note_log(act=act(job, installer), kind="delay", cause="crew", text="x")
    progress = services.progress_log(
        act=act(job, installer), step="waterproofing", quantity_thousandths=1_000
    )
    common = {"job": job, "day": factories.DAY, "by": installer, "at": made.at}
    bad_notes = [
        {"kind": "visitor", "text": "x", "cause": "crew"},
        {"kind": "delay", "text": "x", "cause": "gremlins"},
        {"kind": "delay", "text": "x", "low_tenths": 1, "high_tenths": 2},
        {"kind": "weather", "text": "x", "low_tenths": 1},
        {"kind": "weather", "text": "x", "low_tenths": 3, "high_tenths": 2},
        {"kind": "weather", "text": "x", "low_tenths": 3, "high_tenths": 999},
    ]
    bad_progress = [
        {"quantity_thousandths": 5},
        {"quantity_thousandths": 5, "of_thousandths": 0, "unit": "ft"},
        {"quantity_thousandths": 5, "of_thousandths": 9, "unit": ""},
    ]
    for change in (
        lambda: DayNote.objects.filter(pk=made.pk).update(cause="tool"),
        lambda: DayNote.objects.filter(pk=made.pk).update(text="Nothing"),
        lambda: ProgressEntry.objects.filter(pk=progress.pk).update(quantity_thousandths=2),
        *(lambda row=row: DayNote.objects.create(key=uuid.uuid4(), **common | row) for row in bad_notes),
        *(
            lambda row=row: ProgressEntry.objects.create(
                key=uuid.uuid4(), step="tile", done_basis_points=0, **common | row
            )
            for row in bad_progress
        ),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


def form(client, job, name, kind=""):
    address = reverse(f"work:{name}", args=[job.pk])
    return client.get(f"{address}?kind={kind}" if kind else address).content.decode()


def test_each_kind_of_note_asks_only_what_belongs_to_it(client, installer, job):
    client.force_login(installer)
    delay, weather = form(client, job, "log-note", "delay"), form(client, job, "log-note", "weather")
    visitor = form(client, job, "log-note", "visitor")

    assert "another trade" in delay
    assert "Lowest" not in delay
    assert "Lowest, °F" in weather
    assert "Time lost" not in weather
    assert "Who came, and what was said" in visitor
    post(client, "log-note", job, kind="delay", cause="weather", minutes="1:30")
    post(client, "log-note", job, kind="weather", low_tenths="50", high_tenths="71", text="Dry")
    page = client.get(reverse("work:log", args=[job.pk])).content.decode()
    assert "50–71" in page
    assert "weather" in page
    assert DayNote.objects.get(kind="delay").minutes == 90
    bad = post(client, "log-note", job, kind="weather", low_tenths="cold")
    assert 'value="cold"' in bad.content.decode()


def test_an_installer_says_how_many_square_feet(client, installer, job):
    client.force_login(installer)
    assert "Waterproofing (46 sq ft)" in form(client, job, "log-progress")
    post(client, "log-progress", job, step="waterproofing", quantity_thousandths="23")
    assert ProgressEntry.objects.get().done_basis_points == 5000
    assert "23 of 46 sq ft" in client.get(reverse("work:log", args=[job.pk])).content.decode()
