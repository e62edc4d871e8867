"""What the company sets reaches the takeoff, says where it comes from, and is kept as history."""

import datetime
from decimal import Decimal as D

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from contracting.staff.models import User
from estimates.practice import history, services
from estimates.practice.models import FactorValue, Holiday, PracticeValue, RateValue, WorkBreak, WorkingTime
from estimates.practice.selectors import company_practice, company_settings, practice_with
from estimates.quotes import services as quotes
from estimates.quotes.calculation import calculate
from estimates.quotes.models import Estimate
from estimates.takeoff.errors import DomainError
from estimates.takeoff.practice import Practice, setting_groups, setting_names
from estimates.takeoff.run import run
from estimates.takeoff.units import Measure
from estimates.takeoff.working import Figure, Given, Origin
from tests.estimates.quotes.factories import AT, ready

pytestmark = pytest.mark.django_db

NOON = datetime.datetime(2026, 5, 1, 12, tzinfo=datetime.UTC)


def value(key: str, number: str | None, unit: str = "", source: str = "") -> PracticeValue:
    millionths = None if number is None else int(D(number) * 1_000_000)
    return PracticeValue(key=key, value_millionths=millionths, unit=unit, source=source)


def rate(
    key: str, *outputs: str, unit: str = "sq ft", setup: int = 30, least: int = 60, crew: int = 1
) -> RateValue:
    best, likely, worst = (int(D(one) * 1_000_000) for one in outputs)
    return RateValue(
        key=key,
        optimistic_millionths=best,
        likely_millionths=likely,
        pessimistic_millionths=worst,
        unit=unit,
        setup_minutes=setup,
        minimum_minutes=least,
        crew=crew,
    )


def set_value(by: User, *rows: PracticeValue) -> None:
    services.values_set(rows=rows, seen=10**9, by=by)


# --- From the page to a figure -----------------------------------------------------------------------------


def figures_of(estimate: Estimate) -> list[Figure]:
    takeoff = calculate(Estimate.objects.get(pk=estimate.pk)).takeoff
    figures = [figure for room in takeoff.rooms for figure in room.figures]
    return figures + [row.hours for row in takeoff.hours] + [need.packs for need in takeoff.needs]


def givens(estimate: Estimate) -> list[Given]:
    return [line for figure in figures_of(estimate) for line in figure.lines if isinstance(line, Given)]


def test_nothing_set_is_the_takeoffs_own_practice(owner):
    assert company_practice() == Practice()


def test_an_own_share_of_broken_tile_changes_the_tile_bought_and_says_so(owner):
    estimate = ready()
    before = {need.role.value: need.packs.value for need in calculate(estimate).takeoff.needs}

    set_value(owner, value("tile_breakage", "0.5"))

    after = calculate(Estimate.objects.get(pk=estimate.pk)).takeoff.needs
    assert {need.role.value for need in after if need.packs.value > before[need.role.value]} == {"tile"}
    label = str(Practice().tile_breakage.label)
    said = {(str(line.source), line.value) for line in givens(estimate) if str(line.label) == label}
    assert said == {("the contractor's own setting", D("0.5"))}


def test_the_local_code_that_is_named_stands_beside_the_figure(owner):
    set_value(owner, value("flood_test", "72", "h", "county code 7.3"))

    setting = company_practice().flood_test
    assert (setting.to("h"), setting.origin) == (72, Origin.PRACTICE)
    assert str(setting.source) == "the contractor's own setting: county code 7.3"


def test_an_own_lap_in_millimetres_is_shown_as_it_was_typed(owner):
    estimate = ready()

    set_value(owner, value("side_lap", "75", "mm"))

    lap = next(line for line in givens(estimate) if str(line.label) == str(Practice().side_lap.label))
    # The working begins with what was typed and turns it into the site's inches: 75 / 25.4 by hand 2.9528.
    assert (lap.value, lap.unit, str(lap.source)) == (75, "mm", "the contractor's own setting")


def test_half_the_rate_of_floor_tile_means_more_hours_that_say_so(owner):
    estimate = ready()

    def hours() -> tuple[D, set[str]]:
        rows = calculate(Estimate.objects.get(pk=estimate.pk)).takeoff.hours
        found = [row for row in rows if row.step == "tile"]
        sources = {str(line.source) for row in found for line in row.hours.lines if isinstance(line, Given)}
        return sum((row.hours.value for row in found), D(0)), sources

    before, said_before = hours()
    services.rates_set(rows=[rate("set_floor_tile", "10", "7", "4")], seen=0, by=owner)
    after, said_after = hours()

    assert after > before
    assert "the contractor's own setting" not in said_before
    assert "the contractor's own setting" in said_after


def test_a_rate_in_square_metres_is_the_same_rate(owner):
    # 1 sq m = 10.7639 sq ft (NIST SP 811, appendix B.8).
    services.rates_set(rows=[rate("set_floor_tile", "2", "1", "0.5", unit="sq m")], seen=0, by=owner)

    found = company_practice().rates["set_floor_tile"]
    assert (found.unit, found.likely, found.setup_h, found.minimum_h) == ("sq m", 1, D("0.5"), 1)


def test_the_calendar_moves_the_work(owner):
    estimate = ready(start_on=datetime.date(2026, 6, 1))  # a Monday
    six = services.Hours(datetime.time(6), datetime.time(14), (), frozenset({1, 2, 3, 4}))

    services.calendar_set(hours=six, holidays={datetime.date(2026, 6, 2): "Fair"}, seen=0, by=owner)

    first = calculate(Estimate.objects.get(pk=estimate.pk)).takeoff.schedule.days_on_site[0]
    # Monday is no working day of theirs and Tuesday is the fair.
    assert first == datetime.date(2026, 6, 3)


def test_an_issued_quote_stays_what_it_was(owner):
    estimate = ready()
    quote = quotes.quote_issue(estimate=estimate, by=owner, at=AT)
    seal, total = quote.sha256, quote.total_cents

    set_value(owner, value("tile_breakage", "0.5"))
    quote.refresh_from_db()

    assert (quote.sha256, quote.total_cents) == (seal, total)
    assert calculate(Estimate.objects.get(pk=estimate.pk)).priced.total_cents > total


def test_a_lap_wider_than_the_roll_is_refused_by_its_name(owner):
    estimate = ready()

    set_value(owner, value("side_lap", "4", "ft"))

    error = calculate(Estimate.objects.get(pk=estimate.pk)).error
    assert "Lap between neighbouring sheets" in str(error.reason)


# --- What is refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (value("strip_width", "0", "in"), "must be above zero"),
        (value("side_lap", "2", "h"), "A figure in h cannot be turned into in."),
        (value("tile_breakage", "1.5"), "lies below 1"),
        (value("crew_size", "1.5"), "is a whole number"),
        (value("corners_from_roll", "2"), "either 1 or 0"),
        (value("crew_size", "51"), "expected at most 50"),
        (value("joint_spacing_wet", "11", "in"), "expected at least 1 ft (got 11 in)"),
        (value("no_such_setting", "2"), "There is no practice setting named"),
    ],
)
def test_the_takeoff_judges_a_setting_before_it_is_stored(owner, row, sentence):
    with pytest.raises(ValidationError) as refused:
        set_value(owner, row)

    assert sentence in refused.value.message_dict[row.key][0]
    assert not PracticeValue.objects.exists()


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (rate("trim", "0", "0", "0", unit="ft"), "must be above 0 and fall"),
        (rate("trim", "10", "20", "5", unit="ft"), "must be above 0 and fall"),
        (rate("trim", "3", "2", "1", unit="ft", crew=0), "needs at least one worker"),
    ],
)
def test_the_takeoff_judges_a_rate_before_it_is_stored(owner, row, sentence):
    with pytest.raises(ValidationError) as refused:
        services.rates_set(rows=[row], seen=0, by=owner)

    assert sentence in refused.value.message_dict["trim"][0]
    assert not RateValue.objects.exists()


def test_one_refused_setting_keeps_all_of_them_out(owner):
    with pytest.raises(ValidationError):
        set_value(owner, value("trim", "1", "in"), value("strip_width", "0", "in"))

    assert not PracticeValue.objects.exists()


def row_of(model: type, **values: object):
    return lambda by: model.objects.create(set_by=by, set_at=NOON, **values)


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (row_of(PracticeValue, key="", value_millionths=1), "practice_value_has_key"),
        (row_of(PracticeValue, key="trim", value_millionths=-1), "practice_value_not_negative"),
        (row_of(PracticeValue, key="trim", unit="in"), "practice_value_default_is_bare"),
        (row_of(FactorValue, key="", multiplier_millionths=1), "factor_value_has_key"),
        (row_of(FactorValue, key="access", multiplier_millionths=0), "factor_value_above_zero"),
        (row_of(FactorValue, key="access", source="code"), "factor_value_default_is_bare"),
        (row_of(RateValue, key=""), "rate_value_has_key"),
        (row_of(RateValue, key="trim", crew=1), "rate_value_whole_or_default"),
        (lambda by: _stored(rate("trim", "1", "2", "1"), by), "rate_value_above_zero_and_falls"),
        (lambda by: _stored(rate("trim", "0", "0", "0"), by), "rate_value_above_zero_and_falls"),
        (lambda by: _stored(rate("trim", "3", "2", "1", crew=0), by), "rate_value_has_a_crew"),
        (
            row_of(WorkingTime, start_of_day="16:00", end_of_day="08:00", weekdays=1),
            "working_time_day_ends_after_it_starts",
        ),
        (
            row_of(WorkingTime, start_of_day="08:00", end_of_day="16:00", weekdays=0),
            "working_time_day_ends_after_it_starts",
        ),
        (lambda by: _break(by), "work_break_ends_after_it_starts"),
    ],
)
def test_the_database_keeps_the_promise(owner, make, name):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make(owner)


def _stored(row: RateValue, by: User) -> None:
    row.set_by, row.set_at = by, NOON
    row.save()


def _break(by: User) -> None:
    day = WorkingTime.objects.create(set_by=by, set_at=NOON)
    WorkBreak.objects.create(working_time=day, starts="13:00", ends="12:00")


def test_a_holiday_stands_in_the_list_once(owner):
    day = WorkingTime.objects.create(set_by=owner, set_at=NOON)
    Holiday.objects.create(working_time=day, day="2026-12-25")

    with pytest.raises(IntegrityError), transaction.atomic():
        Holiday.objects.create(working_time=day, day="2026-12-25")


def test_a_stored_value_that_is_no_longer_taken_leaves_the_default_and_is_told():
    rows = {"strip_width": value("strip_width", "0", "in"), "gone": value("gone", "1", "in")}

    practice, refused = practice_with(rows, {}, {})

    assert practice.strip_width == Practice().strip_width
    assert set(refused) == {"strip_width", "gone"}


# --- History ----------------------------------------------------------------------------------------------


def test_the_newest_row_counts_and_the_older_ones_stay(owner, office_manager):
    set_value(owner, value("side_lap", "3", "in", "county code"))
    set_value(office_manager, value("side_lap", None))

    assert company_practice().side_lap == Practice().side_lap
    assert [(str(one.by), one.before, one.after, one.source) for one in history.changes()] == [
        (str(office_manager), "3 in", "", ""),
        (str(owner), "", "3 in", "county code"),
    ]


def test_who_comes_second_is_told_who_was_first(owner, office_manager):
    set_value(owner, value("side_lap", "3", "in"))

    with pytest.raises(services.ChangedMeanwhile) as told:
        services.values_set(rows=[value("side_lap", "4", "in")], seen=0, by=office_manager)

    assert "Olive changed this" in told.value.message_dict["side_lap"][0]
    assert company_practice().side_lap.to("in") == 3


def test_a_calendar_that_is_saved_unchanged_adds_nothing_to_the_history(owner):
    hours = services.Hours(datetime.time(7), datetime.time(15), (), frozenset(range(5)))
    first = services.calendar_set(hours=hours, holidays={}, seen=0, by=owner)

    services.calendar_set(hours=hours, holidays={}, seen=first.pk, by=owner)

    assert WorkingTime.objects.count() == 1


# --- Cost and completeness --------------------------------------------------------------------------------


def test_the_practice_takes_four_queries_and_six_with_a_calendar(owner):
    with CaptureQueriesContext(connection) as few:
        company_practice()
    set_value(owner, *(value(name, "1", "in") for name in ("trim", "side_lap", "butt_lap")))
    services.rates_set(rows=[rate("set_floor_tile", "10", "7", "4")], seen=0, by=owner)
    services.calendar_set(hours=None, holidays={datetime.date(2026, 12, 25): ""}, seen=0, by=owner)
    with CaptureQueriesContext(connection) as more:
        company_practice()

    assert (len(few), len(more)) == (4, 6)


def test_every_setting_stands_in_one_group_and_none_is_left_out():
    names = [name for _title, names in setting_groups() for name in names]

    assert tuple(names) == setting_names()


def test_no_setting_however_odd_breaks_an_estimate():
    """A value at the edge of what may be typed gives a takeoff or a sentence, never a fault."""
    given = calculate(ready()).given
    outcomes = set()
    for name in setting_names():
        for number in ("0", "0.000001", "1000000"):
            try:
                measure = Measure(D(number), Practice().named(name).value.unit)
                practice = Practice().override(name, measure)
                run(given.room_set, given.materials, practice, start=given.start)
                outcomes.add("taken off")
            except DomainError as error:
                outcomes.add(error.rule)

    assert {"taken off", "practice.negative", "practice.fraction", "practice.range"} <= outcomes


def test_a_room_reads_the_settings_alone(owner, django_assert_num_queries):
    set_value(owner, value("wet_wall_height", "2100", "mm"))

    with django_assert_num_queries(1):
        assert company_settings().wet_wall_height.to("mm") == 2100
