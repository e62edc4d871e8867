"""The pages on which a company says how it works."""

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from contracting.staff.models import User
from estimates.practice import services
from estimates.practice.forms import PracticeForm, RateForm
from estimates.practice.models import FactorValue, PracticeValue, RateValue, WorkingTime
from estimates.practice.selectors import company_practice

from .test_practice import rate, value

pytestmark = pytest.mark.django_db

SETTINGS, RATES, FACTORS = "/practice/", "/practice/rates/", "/practice/difficulty/"


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def sent(form_class: type, **changes: str) -> dict[str, str]:
    """What a browser sends of a freshly opened page, with *changes* typed into it (``__`` for a hyphen)."""
    form = form_class()
    data = {name: form[name].value() for name in form.fields}
    data = {name: "" if typed is None else str(typed) for name, typed in data.items()}
    return data | {name.replace("__", "-"): typed for name, typed in changes.items()}


def test_an_untouched_page_stores_nothing(office_manager):
    answer = signed_in(office_manager).post(SETTINGS, sent(PracticeForm), follow=True)

    assert "Nothing was changed." in answer.content.decode()
    assert not PracticeValue.objects.exists()


def test_what_is_typed_is_kept_with_its_unit_and_who_says_so(office_manager):
    client = signed_in(office_manager)
    typed = sent(PracticeForm, side_lap="75 mm", side_lap__source="county code 7.3", tile_breakage="10 %")

    answer = client.post(SETTINGS, typed, follow=True)

    page = answer.content.decode()
    assert 'value="75 mm"' in page
    assert 'value="county code 7.3"' in page
    assert "issued quotes stay as they are" in page
    stored = {row.key: (row.value_millionths, row.unit, row.set_by) for row in PracticeValue.objects.all()}
    assert stored == {
        "side_lap": (75_000_000, "mm", office_manager),
        "tile_breakage": (100_000, "", office_manager),
    }


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("side_lap", "2 hours", "Read “2 hours”: expected a figure such as 12 in."),
        ("side_lap", "wide", "Read “wide”"),
        ("strip_width", "0", "must be above zero"),
        ("tile_breakage", "a tenth", "expected a percentage such as 5 %"),
        ("tile_breakage", "120 %", "lies below 1"),
        ("crew_size", "2.5", "is a whole number"),
        ("side_lap", "99999999999999999999 in", "Read “99999999999999999999 in”"),
    ],
)
def test_what_cannot_be_is_told_beside_the_field_and_kept(office_manager, name, typed, sentence):
    answer = signed_in(office_manager).post(SETTINGS, sent(PracticeForm, **{name: typed, "trim": "1 in"}))

    form = answer.context["form"]
    assert answer.status_code == 200
    assert sentence in str(form[name].errors[0])
    assert form[name].value() == typed
    assert form["trim"].value() == "1 in"
    assert f'id="id_{name}_error"' in answer.content.decode()
    assert not PracticeValue.objects.exists()


@pytest.mark.parametrize("way", [{"side_lap": "", "side_lap-source": ""}, {"reset": "side_lap"}])
def test_back_to_the_default_by_emptying_or_by_the_button(office_manager, way):
    services.values_set(rows=[value("side_lap", "3", "in", "code")], seen=0, by=office_manager)

    signed_in(office_manager).post(SETTINGS, sent(PracticeForm) | way)

    assert [row.value_millionths for row in PracticeValue.objects.order_by("pk")] == [3_000_000, None]
    assert company_practice().side_lap.to("in") == 2


def test_two_people_may_change_different_figures_at_once(owner, office_manager):
    opened = sent(PracticeForm, trim="1 in")
    services.values_set(rows=[value("side_lap", "3", "in")], seen=0, by=owner)

    signed_in(office_manager).post(SETTINGS, opened)

    now = company_practice()
    assert (now.side_lap.to("in"), now.trim.to("in")) == (3, 1)


def test_two_people_at_the_same_figure_the_second_is_told_and_may_insist(owner, office_manager):
    client, opened = signed_in(office_manager), sent(PracticeForm, side_lap="4 in")
    services.values_set(rows=[value("side_lap", "3", "in"), value("trim", "1", "in")], seen=0, by=owner)

    told = client.post(SETTINGS, opened)
    form = told.context["form"]
    assert "Olive changed this" in form["side_lap"].errors[0]
    # What was typed stands; what was left alone shows what the other has made of it.
    assert (form["side_lap"].value(), form["trim"].value()) == ("4 in", "1 in")

    client.post(SETTINGS, {name: form[name].value() or "" for name in form.fields})
    now = company_practice()
    assert (now.side_lap.to("in"), now.trim.to("in")) == (4, 1)


def test_a_rate_takes_units_and_minutes_and_an_emptied_part_its_default(office_manager):
    typed = sent(
        RateForm,
        set_floor_tile__likely="1.2 sq m",
        set_floor_tile__pessimistic="",
        set_floor_tile__setup="1 h",
    )

    signed_in(office_manager).post(RATES, typed)

    row = RateValue.objects.get()
    # 20 and 8 sq ft in square metres: 0.09290304 each (NIST SP 811), so 1.858061 and 0.743224.
    assert (row.optimistic_millionths, row.likely_millionths) == (1_858_061, 1_200_000)
    assert (row.pessimistic_millionths, row.unit, row.setup_minutes) == (743_224, "sq m", 60)


@pytest.mark.parametrize(
    ("part", "typed", "sentence"),
    [
        ("likely", "0", "must be above 0 and fall"),
        ("likely", "14 ft", "expected a figure such as 12 sq ft"),
        ("pessimistic", "0.001", "less than anybody gets done"),
        ("setup", "12 sq ft", "Read “12 sq ft”"),
        ("crew", "two", "expected a whole number"),
        ("crew", "0", "needs at least one worker"),
    ],
)
def test_a_rate_that_cannot_be_is_told_in_its_line(office_manager, part, typed, sentence):
    answer = signed_in(office_manager).post(RATES, sent(RateForm, **{f"set_floor_tile__{part}": typed}))

    assert sentence in answer.content.decode().replace("&#x27;", "'")
    assert answer.context["form"][f"set_floor_tile-{part}"].value() == typed
    assert not RateValue.objects.exists()


def test_a_factor_is_a_number_above_zero(office_manager):
    client = signed_in(office_manager)

    for typed, sentence in (("0", "must be above 0"), ("25 %", "expected a factor such as 1.25")):
        refused = client.post(FACTORS, {"seen": "0", "access": typed})
        assert sentence in refused.context["form"]["access"].errors[0]
    client.post(FACTORS, {"seen": "0", "access": "1.4"})

    assert [(row.key, row.multiplier_millionths) for row in FactorValue.objects.all()] == [
        ("access", 1_400_000)
    ]


def week(**changes: object) -> dict[str, object]:
    typed: dict[str, object] = {
        "seen": "0",
        "start_of_day": "07:00",
        "end_of_day": "15:30",
        "break_1_from": "11:30",
        "break_1_to": "12:00",
        "weekdays": ["0", "1", "2", "3"],
        "holiday-TOTAL_FORMS": "2",
        "holiday-INITIAL_FORMS": "0",
        "holiday-0-day": "2026-12-25",
        "holiday-0-name": "Christmas",
        "holiday-1-day": "",
        "holiday-1-name": "",
    }
    return typed | {name.replace("__", "-"): one for name, one in changes.items()}


def test_the_working_week_is_kept(office_manager):
    signed_in(office_manager).post(reverse("practice:calendar"), week())

    calendar = company_practice().calendar
    assert (calendar.start_of_day, calendar.end_of_day) == (datetime.time(7), datetime.time(15, 30))
    assert calendar.breaks == ((datetime.time(11, 30), datetime.time(12)),)
    assert calendar.weekdays == {0, 1, 2, 3}
    assert calendar.holidays == {datetime.date(2026, 12, 25)}


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"end_of_day": "06:00"}, "must end after it starts"),
        ({"weekdays": []}, "at least one working day"),
        ({"break_1_to": ""}, "Say when the break ends"),
        ({"break_1_from": "06:00"}, "within the working day"),
        ({"holiday__1__day": "2026-12-25"}, "in the list twice"),
        ({"holiday__1__name": "Fair"}, "Which day is “Fair”?"),
        ({"start_of_day": "dawn"}, "Enter a valid time"),
    ],
)
def test_a_week_that_cannot_be_is_told_and_kept(office_manager, changes, sentence):
    answer = signed_in(office_manager).post(reverse("practice:calendar"), week(**changes))

    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert "Christmas" in answer.content.decode()
    assert not WorkingTime.objects.exists()


def test_the_default_hours_may_return_while_the_holidays_stay(office_manager):
    client = signed_in(office_manager)
    client.post(reverse("practice:calendar"), week())
    client.post(reverse("practice:calendar"), week(seen=WorkingTime.objects.get().pk, reset="hours"))

    calendar = company_practice().calendar
    assert calendar.start_of_day == datetime.time(8)
    assert calendar.holidays == {datetime.date(2026, 12, 25)}


def test_a_holiday_is_taken_out_by_emptying_its_date(office_manager):
    client = signed_in(office_manager)
    client.post(reverse("practice:calendar"), week())

    seen = WorkingTime.objects.get().pk
    client.post(reverse("practice:calendar"), week(seen=seen, holiday__INITIAL_FORMS="1", holiday__0__day=""))

    assert company_practice().calendar.holidays == frozenset()


def test_the_second_at_the_calendar_is_told_and_may_insist(owner, office_manager):
    client = signed_in(office_manager)
    services.calendar_set(hours=None, holidays={datetime.date(2026, 12, 25): "Christmas"}, seen=0, by=owner)

    told = client.post(reverse("practice:calendar"), week())
    assert "Olive changed this" in told.content.decode()
    client.post(reverse("practice:calendar"), week(seen=told.context["form"]["seen"].value()))

    assert company_practice().calendar.start_of_day == datetime.time(7)
    assert company_practice().calendar.holidays == {datetime.date(2026, 12, 25)}


@pytest.mark.parametrize("count", [1, 12])
def test_the_pages_take_the_same_queries(count, office_manager, django_assert_max_num_queries):
    keys = list(company_practice().rates)[:count]
    unit = {key: company_practice().rates[key].unit for key in keys}
    for number in range(count):
        rows = [rate(key, "9", "8", "7", unit=unit[key]) for key in keys[: number + 1]]
        services.rates_set(rows=rows, seen=10**9, by=office_manager)
        services.values_set(rows=[value("trim", str(number), "in")], seen=10**9, by=office_manager)
    client = signed_in(office_manager)

    for page in (SETTINGS, RATES, FACTORS, "/practice/calendar/", "/practice/changes/"):
        with django_assert_max_num_queries(9):
            client.get(page)


@pytest.mark.parametrize("width", [390, 1360])
@pytest.mark.django_db(transaction=True)
def test_the_settings_fit_the_screen_and_enter_saves(width, office_manager, browse):
    services.values_set(rows=[value("side_lap", "3", "in")], seen=0, by=office_manager)
    page = browse(office_manager, width=width)
    page.goto(SETTINGS)

    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    field = page.get_by_label("Lap end to end", exact=True)
    field.fill("2 in")
    # Enter presses the first button of the form, which must not be one that puts a default back.
    field.press("Enter")
    page.get_by_text("1 figure is saved").wait_for()

    now = company_practice()
    assert (now.butt_lap.to("in"), now.side_lap.to("in")) == (2, 3)


def test_a_choice_of_yes_and_no_speaks_of_no_one_and_zero(client, office_manager):
    client.force_login(office_manager)

    page = client.get(reverse("practice:settings")).content.decode()

    assert "Corner pieces are cut from the roll, not bought made" in page
    assert "(1)" not in page
    assert "(0)" not in page
