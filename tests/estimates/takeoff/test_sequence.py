"""The schedule: against published critical-path tables, networkx and numpy, by hand, and by properties."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal as D
from zoneinfo import ZoneInfo

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.takeoff.errors import DomainError
from estimates.takeoff.labour import DEFAULT_RATES, ThreePoint, pert
from estimates.takeoff.phrases import phrase
from estimates.takeoff.sequence import (
    CURES,
    STEPS,
    Activity,
    Calendar,
    Cure,
    HoldPoint,
    Link,
    Place,
    Schedule,
    Task,
    Timeline,
    critical_path,
    first_test_wait,
    order_links,
    schedule,
)
from estimates.takeoff.units import Measure
from estimates.takeoff.working import Round, rounded

ONE = Measure(D(1), "each")
EIGHT_HOURS = Calendar(time(8), time(16), breaks=())
NEW_YORK = ZoneInfo("America/New_York")
MONDAY = datetime(2026, 6, 1, 8)  # noqa: DTZ001 - a naive start is one of the cases


def wait(hours, key="wait") -> Cure:
    return Cure(key, phrase("Wait"), D(hours))


def a_task(key, after=(), links=(), cure=None, crew=1, activity="check", **more) -> Task:
    return Task(key, activity, more.pop("room", "bath"), ONE, after=tuple(after), links=tuple(links),
                cure=cure, crew=crew, **more)  # fmt: skip


# --- critical path ---------------------------------------------------------------------------------

# studylib.net/doc/8378728, table 2: key, duration, predecessors, ES, EF, LS, LF, slack; free float by hand.
ASSEMBLY = [
    ("A", 6, "", 0, 6, 0, 6, 0, 0),
    ("B", 2, "A", 6, 8, 6, 8, 0, 0),
    ("C", 2, "A", 6, 8, 7, 9, 1, 0),
    ("D", 3, "B", 8, 11, 8, 11, 0, 0),
    ("F", 2, "C", 8, 10, 9, 11, 1, 1),
    ("E", 4, "DF", 11, 15, 11, 15, 0, 0),
    ("G", 1, "E", 15, 16, 15, 16, 0, 0),
]


@pytest.mark.parametrize("backwards", [False, True])
def test_critical_path_of_the_published_table(backwards):
    rows = ASSEMBLY[::-1] if backwards else ASSEMBLY
    found = critical_path([Activity(key, D(days), tuple(after)) for key, days, after, *_ in rows])
    for key, _days, _after, *expected in ASSEMBLY:
        times = found[key]
        assert [
            times.early_start, times.early_finish, times.late_start, times.late_finish,
            times.total_float, times.free_float,
        ] == expected, key  # fmt: skip
    assert "".join(key for key, *_ in ASSEMBLY if found[key].is_critical) == "ABDEG"


# brainmass.com/business/project-management/critical-path-114392 (data); slack by hand from the data.
COTTAGE = {
    "A": ((8, 10, 12), ""), "B": ((6, 7, 9), ""), "C": ((3, 3, 4), ""), "D": ((10, 20, 30), "A"),
    "E": ((6, 7, 8), "C"), "F": ((9, 10, 11), "BDE"), "G": ((6, 7, 10), "BDE"), "H": ((14, 15, 16), "F"),
    "I": ((10, 11, 13), "F"), "J": ((6, 7, 8), "GH"), "K": ((4, 7, 8), "IJ"), "L": ((1, 2, 4), "GH"),
}  # fmt: skip
COTTAGE_SLACK = {"B": "22.8333", "C": "19.8333", "E": "19.8333", "G": "17.6667", "I": "10.8333", "L": "11.5"}


def test_three_point_network_of_the_published_cottage():
    points = {key: ThreePoint(*map(D, row)) for key, (row, _) in COTTAGE.items()}
    found = critical_path(
        [Activity(key, points[key].expected, tuple(after)) for key, (_, after) in COTTAGE.items()]
    )
    critical = [key for key in COTTAGE if found[key].is_critical]
    assert critical == list("ADFHJK")
    length = max(times.early_finish for times in found.values())
    assert rounded(length, Round.HALF_UP, 4) == D("68.6667")
    assert rounded(pert(points[key] for key in critical).variance, Round.HALF_UP, 4) == D("12.3333")
    for key, slack in COTTAGE_SLACK.items():
        assert rounded(found[key].total_float, Round.HALF_UP, 4) == D(slack)


def test_three_point_network_of_the_published_page():
    # pmknowledgecenter.be, "PERT: Incorporating activity time variability": path A-B-E-F, 15.
    rows = [("A", 5, ""), ("B", 3, "A"), ("C", 1, "A"), ("D", 2, "B"), ("E", 3, "BC"), ("F", 4, "DE")]
    found = critical_path([Activity(key, D(days), tuple(after)) for key, days, after in rows])
    assert [key for key, *_ in rows if found[key].is_critical] == list("ABEF")
    assert max(times.early_finish for times in found.values()) == 15


def test_latest_times_of_a_published_backward_pass():
    # scribd.com/document/783336345: LS A 0, B 4, C 4, D 7, E 9, F 15; length 19; all critical.
    rows = [("A", 4, ""), ("B", 3, "A"), ("C", 5, "A"), ("D", 2, "B"), ("E", 6, "CD"), ("F", 4, "E")]
    found = critical_path([Activity(key, D(days), tuple(after)) for key, days, after in rows])
    assert [int(found[key].late_start) for key, *_ in rows] == [0, 4, 4, 7, 9, 15]
    assert all(found[key].is_critical for key, *_ in rows)


@st.composite
def networks(draw, most=10, longest=600):
    count = draw(st.integers(1, most))
    rows = []
    for number in range(count):
        before = draw(st.sets(st.integers(0, number - 1), max_size=3)) if number else set()
        rows.append((f"t{number}", draw(st.integers(0, longest)), tuple(f"t{b}" for b in sorted(before))))
    return draw(st.permutations(rows))


@given(networks(most=14))
@settings(max_examples=150, deadline=None)
def test_critical_path_agrees_with_networkx(rows):
    # Every activity as an arrow of its own length, so that longest paths are early and late times.
    arrows: nx.DiGraph[object] = nx.DiGraph()
    for key, length, after in rows:
        arrows.add_edge((key, 0), (key, 1), length=length)
        arrows.add_edge("start", (key, 0), length=0)
        arrows.add_edge((key, 1), "end", length=0)
        arrows.add_edges_from(((before, 1), (key, 0), {"length": 0}) for before in after)
    total = nx.dag_longest_path_length(arrows, weight="length")
    found = critical_path([Activity(key, D(length), after) for key, length, after in rows])
    assert max(times.early_finish for times in found.values()) == total
    for key, length, _ in rows:
        times = found[key]
        upstream = arrows.subgraph(nx.ancestors(arrows, (key, 0)) | {(key, 0)})
        downstream = arrows.subgraph(nx.descendants(arrows, (key, 1)) | {(key, 1)})
        assert times.early_start == nx.dag_longest_path_length(upstream, weight="length")
        assert times.late_finish == total - nx.dag_longest_path_length(downstream, weight="length")
        assert times.total_float == times.late_start - times.early_start >= times.free_float >= 0
        assert times.early_finish - times.early_start == length


@given(networks(), st.data())
@settings(max_examples=100, deadline=None)
def test_one_more_link_never_shortens(rows, data):
    def length(rows):
        found = critical_path([Activity(key, D(days), after) for key, days, after in rows])
        return max(times.early_finish for times in found.values())

    known = {key: (days, after) for key, days, after in rows}
    first = data.draw(st.integers(0, len(rows) - 1))
    second = data.draw(st.integers(0, len(rows) - 1))
    if first < second:
        days, after = known[f"t{second}"]
        more = dict(known) | {f"t{second}": (days, (*after, f"t{first}"))}
        assert length([(key, *row) for key, row in more.items()]) >= length(rows)


# --- working days ----------------------------------------------------------------------------------


def by_the_minute(calendar, start, count):
    """The first *count* working minutes after *start*, found by looking at every minute there is."""
    found: list[datetime] = []
    minute = start
    while len(found) < count:
        if calendar.works_on(minute.date()) and any(a <= minute.time() < b for a, b in calendar.shifts()):
            found.append(minute)
        minute += timedelta(minutes=1)
    return found


@given(
    start=st.datetimes(datetime(2026, 3, 1), datetime(2026, 3, 20)),  # noqa: DTZ001
    weekdays=st.sets(st.integers(0, 6), min_size=2),
    holidays=st.sets(st.dates(date(2026, 3, 1), date(2026, 3, 20)), max_size=4),
    probes=st.lists(st.integers(0, 900), min_size=1, max_size=6),
)
@settings(max_examples=40, deadline=None)
def test_timeline_agrees_with_counting_minutes(start, weekdays, holidays, probes):
    calendar = Calendar(
        time(8), time(14), ((time(10), time(10, 15)), (time(12), time(13))), frozenset(weekdays),
        frozenset(holidays),
    )  # fmt: skip
    line = Timeline(calendar, start)
    first = start.replace(second=0, microsecond=0)
    first += timedelta(minutes=1) if first < start else timedelta()
    minutes = by_the_minute(calendar, first, 901)
    for probe in probes:
        assert line.begins(probe) == minutes[probe]
        assert line.worked_before(minutes[probe]) == probe
        if probe:
            assert line.ends(probe) == minutes[probe - 1] + timedelta(minutes=1)
            assert line.worked_before(line.ends(probe)) == probe
        assert sum(part for _, part in line.spells(0, probe)) == probe


@given(
    days=st.integers(1, 30),
    start=st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    holidays=st.sets(st.dates(date(2026, 1, 1), date(2027, 2, 28)), max_size=12),
)
@settings(max_examples=80, deadline=None)
def test_whole_days_agree_with_the_business_days_of_numpy(days, start, holidays):
    calendar = Calendar(time(8), time(16), (), frozenset(range(5)), frozenset(holidays))
    plan = schedule([a_task("a")], {"a": D(8 * days)}, calendar=calendar,
                    start=datetime.combine(start, time(8), NEW_YORK))  # fmt: skip
    off = [np.datetime64(day) for day in sorted(holidays)]
    first = np.busday_offset(start, 0, roll="forward", holidays=off)
    last = np.busday_offset(first, days - 1, holidays=off)
    assert plan.tasks[0].start.date() == first.astype(object)
    assert plan.tasks[0].finish == datetime.combine(last.astype(object), time(16), NEW_YORK)
    assert plan.hours_on_site.value == 8 * days
    assert len(plan.days_on_site) == days == np.busday_count(first, last, holidays=off) + 1
    assert plan.elapsed_days.value == (last - first).astype(object).days + 1


def test_a_task_pauses_for_the_break_and_the_night():
    # 8:00 to 16:30 with a break at 12:00 is 8 h; 10 h from Monday 9:00: Monday 7 h, Tuesday 3 h to 11:00.
    plan = schedule([a_task("a")], {"a": D(10)}, start=MONDAY.replace(hour=9))
    assert plan.finish == datetime(2026, 6, 2, 11)  # noqa: DTZ001
    assert plan.days_on_site == (date(2026, 6, 1), date(2026, 6, 2))


def test_work_that_ends_with_the_day_ends_in_the_evening_and_the_next_begins_in_the_morning():
    plan = schedule([a_task("a"), a_task("b", ["a"])], {"a": D(8), "b": D(1)}, start=MONDAY,
                    calendar=EIGHT_HOURS)  # fmt: skip
    assert plan.tasks[0].finish == MONDAY.replace(hour=16)
    assert plan.tasks[1].start == MONDAY.replace(day=2)


def test_a_start_on_a_holiday_or_at_night_moves_to_the_next_working_morning():
    calendar = Calendar(holidays=frozenset({date(2026, 5, 25)}))
    plan = schedule([a_task("a")], {"a": D(1)}, calendar=calendar,
                    start=datetime(2026, 5, 22, 21, tzinfo=NEW_YORK))  # fmt: skip
    assert plan.start == datetime(2026, 5, 26, 8, tzinfo=NEW_YORK)


# --- waits by the clock ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("clock_change", "day", "opens"),
    [
        # 12 h after Saturday 18:00; clocks go forward on 8 March 2026 and back on 1 November 2026 at 2:00
        # (US rule: second Sunday of March, first Sunday of November).
        ("forward", date(2026, 3, 7), time(7)),
        ("none", date(2026, 3, 14), time(6)),
        ("back", date(2026, 10, 31), time(5)),
    ],
)
def test_a_wait_over_a_clock_change_is_time_that_really_passes(clock_change, day, opens):
    calendar = Calendar(time(4), time(20), (), frozenset(range(7)))
    tasks = [a_task("bond", cure=wait(12)), a_task("tile", ["bond"], activity="set_floor_tile")]
    start = datetime.combine(day, time(16), NEW_YORK)
    plan = schedule(tasks, {"bond": D(2), "tile": D(1)}, start=start, calendar=calendar)
    bond, tile = plan.tasks
    assert bond.finish == datetime.combine(day, time(18), NEW_YORK)
    assert tile.start == datetime.combine(day + timedelta(days=1), opens, NEW_YORK)
    assert tile.start.astimezone(UTC) - bond.finish.astimezone(UTC) == timedelta(hours=12)
    assert plan.ready_for_tile[0].at == tile.start


@pytest.mark.parametrize("day", [date(2026, 3, 8), date(2026, 11, 1)])
def test_the_working_day_keeps_its_local_hours_over_a_clock_change(day):
    start = datetime.combine(day - timedelta(days=2), time(8), NEW_YORK)
    plan = schedule([a_task("a"), a_task("b", ["a"])], {"a": D(8), "b": D(8)}, start=start,
                    calendar=EIGHT_HOURS)  # fmt: skip
    assert plan.tasks[1].start.replace(tzinfo=None) == datetime.combine(day + timedelta(days=1), time(8))
    assert plan.tasks[1].start.utcoffset() != plan.tasks[0].start.utcoffset()


def test_a_night_shift_over_a_clock_change_loses_the_hour_that_does_not_exist():
    calendar = Calendar(time(1), time(5), (), frozenset(range(7)))
    plan = schedule([a_task("a")], {"a": D(4)}, calendar=calendar,
                    start=datetime(2026, 3, 8, 1, tzinfo=NEW_YORK))  # fmt: skip
    # 1:00 to 5:00 holds three hours that night; the fourth is worked the next.
    assert plan.finish == datetime(2026, 3, 9, 2, tzinfo=NEW_YORK)


def test_waits_run_on_nights_and_weekends_and_naive_answers_are_naive():
    tasks = [a_task("a", cure=wait(24)), a_task("b", ["a"])]
    friday = datetime(2026, 6, 5, 8)  # noqa: DTZ001
    plan = schedule(tasks, {"a": D(8), "b": D(1)}, start=friday, calendar=EIGHT_HOURS)
    assert plan.tasks[1].start == datetime(2026, 6, 8, 8)  # noqa: DTZ001
    assert plan.waits[0].finish == datetime(2026, 6, 6, 16)  # noqa: DTZ001
    # Saturday has no working hours, so nobody is kept waiting.
    assert not plan.waits[0].is_idle
    assert plan.tasks[0].finish.tzinfo is None


def test_a_link_has_its_own_wait_in_place_of_the_cure():
    tasks = [
        a_task("membrane", cure=wait(24)),
        a_task("look", links=[Link("membrane")]),
        a_task("fill", links=[Link("membrane", wait(48))]),
        a_task("tile", ["membrane"]),
    ]
    plan = schedule(tasks, dict.fromkeys(("membrane", "look", "fill", "tile"), D(1)), start=MONDAY).by_key()
    assert plan["look"].start == MONDAY.replace(hour=9)
    assert plan["tile"].start == MONDAY.replace(day=2, hour=9)
    assert plan["fill"].start == MONDAY.replace(day=3, hour=9)
    assert plan["fill"].driver == "membrane"


def test_a_mark_without_hours_takes_nobody_and_may_fall_at_night():
    tasks = [a_task("a", cure=wait(4)), a_task("cured", ["a"]), a_task("b", ["cured"])]
    plan = schedule(
        tasks, {"a": D(8), "cured": D(0), "b": D(1)}, start=MONDAY, calendar=EIGHT_HOURS, people=1
    )
    assert plan.tasks[1].start == plan.tasks[1].finish == MONDAY.replace(hour=20)
    assert plan.tasks[2].start == MONDAY.replace(day=2)


def test_a_wait_lends_its_night_to_the_float():
    """By hand, 8:00 to 16:00: a ends Monday 12:00; its 12 h are over at midnight; b cannot begin before
    Tuesday 8:00. So a may end until Monday 16:00 (12 h to 4:00, and no later than 20:00): 4 h of float."""
    plan = schedule([a_task("a", cure=wait(12)), a_task("b", ["a"])], {"a": D(4), "b": D(1)}, start=MONDAY,
                    calendar=EIGHT_HOURS)  # fmt: skip
    assert (plan.tasks[0].total_float_min, plan.tasks[0].free_float_min) == (240, 240)
    assert plan.tasks[0].late_finish == MONDAY.replace(hour=16)
    assert plan.tasks[1].is_critical


# --- crew ------------------------------------------------------------------------------------------


@st.composite
def jobs(draw):
    rows = draw(networks(most=9))
    tasks, hours = [], {}
    for key, minutes, after in rows:
        cure = draw(st.sampled_from([None, None, wait(2), wait(24)]))
        tasks.append(a_task(key, after, cure=cure, crew=draw(st.integers(1, 4))))
        hours[key] = D(minutes) / 60
    return tasks, hours


def busiest(plan: Schedule) -> int:
    """The most people at work at once, by sweeping over starts and finishes."""
    events = []
    for item in plan.tasks:
        if item.duration_min:
            events += [(item.early_start_min, item.crew), (item.early_finish_min, -item.crew)]
    at_work = most = 0
    for _, change in sorted(events):
        at_work += change
        most = max(most, at_work)
    return most


@given(jobs(), st.integers(1, 4))
@settings(max_examples=150, deadline=None)
def test_the_crew_is_never_more_than_there_are(job, people):
    tasks, hours = job
    start = datetime(2026, 3, 6, 9, 30, tzinfo=NEW_YORK)
    plan = schedule(tasks, hours, start=start, people=people)
    assert busiest(plan) <= people
    check_plan(plan, start)
    # At their latest times the crew suffices too, so the float is real.
    events = []
    for item in plan.tasks:
        if item.duration_min:
            events += [(item.late_start_min, item.crew), (item.late_finish_min, -item.crew)]
    at_work = 0
    for _, change in sorted(events):
        at_work += change
        assert at_work <= people
    # Man-hours stay what they were: durations are man-minutes by crew, up to the next minute.
    for item in plan.tasks:
        man_minutes = round(hours[item.task.key] * 60)
        assert 0 <= item.duration_min * item.crew - man_minutes < item.crew
    # No crew is faster than one without limit.
    assert schedule(tasks, hours, start=start).finish <= plan.finish


def check_plan(plan: Schedule, start: datetime) -> None:
    found = plan.by_key()
    for item in plan.tasks:
        assert item.start >= start
        for before in item.task.after:
            cure = found[before].task.cure
            pause = timedelta(hours=float(cure.hours)) if cure else timedelta()
            ended, begun = found[before].finish, item.start
            assert begun.astimezone(UTC) - ended.astimezone(UTC) >= pause
            late = item.late_start.astimezone(UTC) - found[before].late_finish.astimezone(UTC)
            assert late >= pause
        assert item.total_float_min >= item.free_float_min >= 0
        assert item.is_critical == (item.total_float_min == 0)
        assert item.early_finish_min - item.early_start_min == item.duration_min
        assert item.finish <= plan.finish <= plan.ready_for_use
    assert any(item.is_critical for item in plan.tasks)
    for figure in (plan.hours_on_site, plan.elapsed_days):
        assert figure.evaluate() == figure.value


@given(jobs())
@settings(max_examples=80, deadline=None)
def test_without_a_limit_every_link_and_wait_is_kept(job):
    tasks, hours = job
    start = datetime(2026, 10, 30, 13, tzinfo=NEW_YORK)
    check_plan(schedule(tasks, hours, start=start), start)


@given(networks())
@settings(max_examples=80, deadline=None)
def test_without_waits_the_schedule_is_the_critical_path(rows):
    plain = critical_path([Activity(key, D(minutes), after) for key, minutes, after in rows])
    tasks = [a_task(key, after) for key, _, after in rows]
    plan = schedule(tasks, {key: D(minutes) / 60 for key, minutes, _ in rows}, start=MONDAY)
    for item in plan.tasks:
        times = plain[item.task.key]
        assert item.early_start_min == times.early_start
        assert item.late_start_min == times.late_start
        assert item.total_float_min == times.total_float
        assert item.free_float_min == times.free_float


@given(jobs(), st.data())
@settings(max_examples=60, deadline=None)
def test_one_more_link_never_ends_the_job_sooner(job, data):
    tasks, hours = job
    by_number = sorted(tasks, key=lambda task: int(task.key[1:]))
    first, second = sorted(data.draw(st.tuples(*[st.integers(0, len(tasks) - 1)] * 2)))
    if first == second:
        return
    changed = by_number[second]
    more = [
        a_task(task.key, (*task.after, by_number[first].key), cure=task.cure, crew=task.crew)
        if task is changed and by_number[first].key not in task.after
        else task
        for task in tasks
    ]
    before, after = (schedule(each, hours, start=MONDAY) for each in (tasks, more))
    assert after.finish >= before.finish


@given(st.lists(st.integers(1, 300), min_size=1, max_size=8))
@settings(max_examples=40, deadline=None)
def test_one_worker_does_everything_one_after_the_other(minutes):
    tasks = [a_task(f"t{n}") for n in range(len(minutes))]
    hours = {f"t{n}": D(value) / 60 for n, value in enumerate(minutes)}
    plan = schedule(tasks, hours, start=MONDAY, people=1)
    assert max(item.early_finish_min for item in plan.tasks) == sum(minutes)
    assert plan.hours_on_site.value == rounded(D(sum(minutes)) / 60, Round.HALF_UP, 2)
    assert all(item.is_critical for item in plan.tasks)


def test_the_crew_works_elsewhere_while_a_bond_cures():
    """By hand, one worker: a 8-10; its 4 h run to 14:00; c (3 h) fits between, 10-13; b 14-15."""
    tasks = [a_task("a", cure=wait(4)), a_task("b", ["a"]), a_task("c")]
    plan = schedule(tasks, {"a": D(2), "b": D(1), "c": D(3)}, start=MONDAY, calendar=EIGHT_HOURS, people=1)
    assert [(item.start.hour, item.finish.hour) for item in plan.tasks] == [(8, 10), (14, 15), (10, 13)]
    assert plan.tasks[2].waits_for_crew
    assert plan.tasks[2].driver == "a"
    assert not plan.waits[0].is_idle
    assert plan.hours_on_site.value == 6


def test_what_the_end_hangs_on_goes_first():
    """By hand, one worker: b waits 24 h for a, so a goes before c, although c was named first."""
    tasks = [a_task("c"), a_task("a", cure=wait(24)), a_task("b", ["a"])]
    plan = schedule(tasks, {"c": D(3), "a": D(1), "b": D(1)}, start=MONDAY, people=1).by_key()
    assert plan["a"].start == MONDAY
    assert plan["c"].start == MONDAY.replace(hour=9)
    assert plan["b"].start == MONDAY.replace(day=2, hour=9)


def test_whoever_is_free_takes_the_next_task():
    """By hand, two workers: a 8-10 and b 8-12; c (1 h) goes to a's worker, 10-11, with an hour to spare."""
    tasks = [a_task("b"), a_task("a"), a_task("c")]
    plan = schedule(tasks, {"a": D(2), "b": D(4), "c": D(1)}, start=MONDAY, people=2).by_key()
    assert plan["c"].start == MONDAY.replace(hour=10)
    assert plan["c"].driver == "a"
    assert (plan["a"].total_float_min, plan["a"].free_float_min, plan["c"].free_float_min) == (60, 0, 60)


def test_a_crew_too_small_takes_longer():
    one, two = (
        schedule([a_task("a", crew=2)], {"a": D(8)}, start=MONDAY, people=people) for people in (1, 2)
    )
    assert (one.tasks[0].crew, one.tasks[0].duration_min) == (1, 480)
    assert (two.tasks[0].crew, two.tasks[0].duration_min) == (2, 240)


def test_minutes_are_rounded_up_and_a_third_of_an_hour_is_twenty():
    for hours, crew, expected in (("1", 7, 9), ("0.1", 4, 2), ("10.5", 1, 630)):
        plan = schedule([a_task("a", crew=crew)], {"a": D(hours)}, start=MONDAY)
        assert plan.tasks[0].duration_min == expected
    assert schedule([a_task("a")], {"a": D(1) / 3}, start=MONDAY).tasks[0].duration_min == 20


def test_the_same_input_gives_the_same_schedule():
    tasks = [a_task(f"t{n}", [f"t{n // 2}"] if n > 1 else [], crew=1 + n % 3) for n in range(20)]
    hours = {task.key: D(1 + len(task.key)) for task in tasks}
    plans = [schedule(tasks, hours, start=MONDAY, people=3) for _ in range(2)]
    assert plans[0] == plans[1]


def test_no_tasks_is_an_empty_schedule():
    plan = schedule([], {}, start=MONDAY)
    assert plan.start == plan.finish == MONDAY
    assert plan.hours_on_site.value == plan.elapsed_days.value == 0


# --- the trade's order -----------------------------------------------------------------------------


def test_the_table_of_steps_is_an_order_of_known_activities_and_waits():
    found = critical_path(
        [Activity(key, D(1), tuple(after.step for after in step.after)) for key, step in STEPS.items()]
    )
    assert list(found) == list(STEPS)
    for step in STEPS.values():
        assert set(step.activities) <= set(DEFAULT_RATES)
        assert {after.wait for after in step.after} <= {"", "bond", *CURES}
    marks = [step.hold_point for step in STEPS.values() if step.hold_point]
    assert marks == list(HoldPoint)


def test_the_waits_of_the_trade():
    # Hours as the trade's rules give them; ASTM D5957 5.4 for the two before a flood test.
    hours = {key: cure.hours for key, cure in CURES.items()}
    assert hours["acrylic bonding agent"] == 2
    assert hours["organic adhesive"] == 4
    assert hours["latex-modified mortar"] == 12
    assert hours["flood test"] == hours["mortar"] == 24
    assert first_test_wait().hours == first_test_wait(D(10)).hours == 24
    assert first_test_wait(D("9.9")).hours == 48


BATH = [
    Place("protect"), Place("prepare", "bath", "floor"), Place("prepare", "bath", "walls"),
    Place("level", "bath", "floor"), Place("board", "bath", "walls"), Place("accept_substrate", "bath"),
    Place("corners", "bath"), Place("strips", "bath"), Place("floor_sheets", "bath", "floor"),
    Place("wall_sheets", "bath", "walls"), Place("accept_membrane", "bath"), Place("layout", "bath", "floor"),
    Place("tile", "bath", "floor"), Place("tile", "bath", "walls"), Place("grout", "bath"),
    Place("prepare", "hall", "floor"), Place("accept_substrate", "hall"), Place("tile", "hall", "floor"),
    Place("clean_up"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        # Nothing to demolish: straight after the protection.
        (Place("prepare", "bath", "floor"), [(Place("protect"), "")]),
        # Only the floor is levelled: the board on the walls waits for the walls alone.
        (Place("board", "bath", "walls"), [(Place("prepare", "bath", "walls"), "")]),
        # The room's check waits for every surface, also those without board.
        (
            Place("accept_substrate", "bath"),
            [
                (Place("board", "bath", "walls"), ""),
                (Place("level", "bath", "floor"), "levelling"),
                (Place("prepare", "bath", "floor"), ""),
                (Place("prepare", "bath", "walls"), ""),
            ],
        ),
        (Place("strips", "bath"), [(Place("corners", "bath"), "")]),
        (Place("floor_sheets", "bath", "floor"), [(Place("strips", "bath"), "")]),
        # No penetrations in this bath.
        (
            Place("accept_membrane", "bath"),
            [(Place("floor_sheets", "bath", "floor"), ""), (Place("wall_sheets", "bath", "walls"), "")],
        ),
        # The bond under the floor's own tile; the walls' bond does not hold it up.
        (
            Place("tile", "bath", "floor"),
            [
                (Place("layout", "bath", "floor"), ""),
                (Place("floor_sheets", "bath", "floor"), "bond"),
                (Place("strips", "bath"), ""),
            ],
        ),
        # A room without membrane.
        (Place("tile", "hall", "floor"), [(Place("accept_substrate", "hall"), "")]),
    ],
)
def test_steps_that_are_not_there_are_passed_through(place, expected):
    assert list(order_links(BATH)[place]) == expected


def test_no_two_rooms_wait_for_each_other_except_at_the_ends():
    for place, links in order_links(BATH).items():
        if place.room:
            assert {link.room for link, _ in links} <= {place.room, ""}
    last = {link.room for link, _ in order_links(BATH)[Place("clean_up")]}
    assert {"bath", "hall"} <= last


@given(st.lists(st.sampled_from(sorted(STEPS)), unique=True, min_size=1))
@settings(max_examples=100, deadline=None)
def test_any_choice_of_steps_keeps_the_order_of_the_whole_table(present):
    rank = {key: number for number, key in enumerate(STEPS)}
    everything = order_links(
        [Place(key, *(("bath", "floor")[: {"job": 0, "room": 1, "surface": 2}[STEPS[key].scope]]))
         for key in present]
    )  # fmt: skip
    reach = nx.DiGraph([(link.step, place.step) for place, links in everything.items() for link, _ in links])
    full = nx.DiGraph([(after.step, key) for key, step in STEPS.items() for after in step.after])
    for first in present:
        for second in present:
            if rank[first] < rank[second] and nx.has_path(full, first, second):
                assert reach.has_node(first)
                assert nx.has_path(reach, first, second), (first, second)


def test_a_shower_from_membrane_to_grout_by_hand():
    """One worker, 8:00 to 16:00, Monday 1 June 2026.

    Sheets 4 h: Monday 8 to 12. Check 1 h: 12 to 13. The flood test may not begin within 24 h of the sheets
    (ASTM D5957 5.4): Tuesday 12:00, 1 h. 24 h of water: Wednesday 13:00, read 1 h, to 14:00. The bond (4 h)
    was over on Monday 16:00, so tile may be set from Wednesday 14:00: 8 h, to Thursday 14:00. Mortar 24 h:
    grout on Friday 14:00, 2 h, to 16:00. Ready for use 24 h later, Saturday 16:00.
    Hours on site 4+1+1+1+8+2 = 17; five days, work on each.
    """
    tasks = [
        a_task("sheets", activity="membrane_floor", cure=CURES["organic adhesive"]),
        a_task("check", links=[Link("sheets")], hold_point=HoldPoint.MEMBRANE),
        a_task("fill", ["check"], [Link("sheets", first_test_wait())], cure=CURES["flood test"]),
        a_task("read", ["fill"], hold_point=HoldPoint.FLOOD_TEST),
        a_task("tile", ["sheets", "read"], activity="set_mosaic", cure=CURES["mortar"], surface="shower"),
        a_task("grout", ["tile"], activity="grout", cure=CURES["grout"]),
    ]
    hours = dict(
        zip(("sheets", "check", "fill", "read", "tile", "grout"), map(D, (4, 1, 1, 1, 8, 2)), strict=True)
    )
    plan = schedule(tasks, hours, start=MONDAY, calendar=EIGHT_HOURS, people=1)
    found = plan.by_key()
    assert found["fill"].start == MONDAY.replace(day=2, hour=12)
    assert found["read"].start == MONDAY.replace(day=3, hour=13)
    assert [(r.surface, r.at) for r in plan.ready_for_tile] == [("shower", MONDAY.replace(day=3, hour=14))]
    assert found["tile"].finish == MONDAY.replace(day=4, hour=14)
    assert plan.finish == MONDAY.replace(day=5, hour=16)
    assert plan.ready_for_use == MONDAY.replace(day=6, hour=16)
    assert plan.hours_on_site.value == 17
    assert plan.elapsed_days.value == 5
    assert [(w.task, w.cure.key, w.is_idle) for w in plan.waits] == [
        ("sheets", "organic adhesive", False),
        ("sheets", "before test", False),
        ("fill", "flood test", True),
        ("tile", "mortar", True),
        ("grout", "grout", False),
    ]


def test_layout_does_not_put_off_the_moment_a_surface_may_be_tiled():
    tasks = [
        a_task("sheets", cure=wait(2)),
        a_task("layout", links=[Link("sheets")], activity="layout"),
        a_task("tile", ["sheets", "layout"], activity="set_wall_tile"),
    ]
    plan = schedule(tasks, {"sheets": D(1), "layout": D(5), "tile": D(1)}, start=MONDAY, calendar=EIGHT_HOURS)
    assert plan.ready_for_tile[0].at == MONDAY.replace(hour=11)
    assert plan.tasks[2].start == MONDAY.replace(hour=14)


# --- bad input -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "rule", "said"),
    [
        (lambda: critical_path([Activity("a", D(1), ("b",))]), "sequence.unknown", "“a” waits for “b”"),
        (lambda: critical_path([Activity("a", D(-1))]), "sequence.duration", "got -1"),
        (lambda: critical_path([Activity("a", D("NaN"))]), "sequence.duration", "NaN"),
        (lambda: critical_path([Activity("a", D(1)), Activity("a", D(2))]), "sequence.twice", "“a”"),
        (lambda: critical_path([Activity("a", D(1), ("a",))]), "sequence.cycle", "a → a"),
        (lambda: schedule([a_task("a")], {}, start=MONDAY), "sequence.hours", "got nothing"),
        (lambda: schedule([a_task("a")], {"a": D(-1)}, start=MONDAY), "sequence.hours", "got -1"),
        (lambda: schedule([a_task("a")], {"a": D(1)}, start=MONDAY, people=0), "labour.crew", "worker"),
        (lambda: schedule([a_task("a", ["b"])], {"a": D(1)}, start=MONDAY), "sequence.unknown", "“b”"),
        (lambda: Calendar(weekdays=frozenset()), "calendar.weekdays", "working day"),
        (lambda: Calendar(weekdays=frozenset({7})), "calendar.weekdays", "working day"),
        (lambda: Calendar(time(16), time(8)), "calendar.day", "16:00 to 08:00"),
        (lambda: Calendar(breaks=((time(7), time(8, 30)),)), "calendar.break", "within the working day"),
        (lambda: Calendar(breaks=((time(13), time(12)),)), "calendar.break", "within the working day"),
        (lambda: Calendar(time(8), time(9), ((time(8), time(9)),)), "calendar.break", "leave time to work"),
        (lambda: order_links([Place("paint")]), "sequence.step", "paint"),
    ],
)
def test_bad_input_is_named(make, rule, said):
    with pytest.raises(DomainError) as caught:
        make()
    assert caught.value.rule == rule
    assert said in str(caught.value)


def test_a_ring_names_its_tasks():
    tasks = [a_task("strips", ["sheets"]), a_task("corners"), a_task("sheets", ["corners", "strips"])]
    with pytest.raises(DomainError) as caught:
        schedule(tasks, dict.fromkeys(("strips", "corners", "sheets"), D(1)), start=MONDAY)
    assert caught.value.rule == "sequence.cycle"
    assert set(caught.value.facts["tasks"]) == {"strips", "sheets"}
    assert "strips" in str(caught.value)
    assert "sheets" in str(caught.value)


def test_a_calendar_that_is_all_holiday_is_refused():
    days = frozenset(date(2026, 6, 1) + timedelta(days=n) for n in range(400))
    with pytest.raises(DomainError) as caught:
        schedule([a_task("a")], {"a": D(1)}, start=MONDAY, calendar=Calendar(holidays=days))
    assert caught.value.rule == "calendar.no-work"
