"""Hours: against worked examples published elsewhere, by hand, and by what must always hold."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from estimates.takeoff.errors import DomainError
from estimates.takeoff.labour import (
    DEFAULT_RATES,
    FACTORS,
    TRADE_STEPS,
    Cure,
    Factor,
    LabourPractice,
    Once,
    Rate,
    Task,
    ThreePoint,
    difficulty,
    job_range,
    job_spread,
    labour_hours,
    pert,
    simulate,
    task_hours,
)
from estimates.takeoff.phrases import phrase
from estimates.takeoff.units import Measure, System
from estimates.takeoff.working import Origin, Round, Step, rounded

NAME = phrase("Set the tile")
PLAIN = LabourPractice(learning=D(1))


def a_rate(per_hour=("20", "10", "5"), **changes) -> Rate:
    values = {
        "setup_h": D("0.5"),
        "minimum_h": D(1),
        "crew": 2,
        "unit": "sq ft",
        "setup": Once.PER_ROOM,
        **changes,
    }
    return Rate("set", NAME, "tile", optimistic=D(per_hour[0]), likely=D(per_hour[1]),
                pessimistic=D(per_hour[2]), source=phrase("invented for this test"), **values)  # fmt: skip


def a_task(quantity="40", unit="sq ft", key="t", room="bath", **changes) -> Task:
    return Task(key, changes.pop("activity", "set"), room, Measure(D(quantity), unit), **changes)


RATES = {"set": a_rate()}


# --- three-point estimates -------------------------------------------------------------------------

# Data: pmknowledgecenter.be, "PERT: Incorporating activity time variability". Results: by hand from it.
P1 = {
    "A": ("2", "5", "8", "5", "1.0000"),
    "B": ("1", "2", "9", "3", "1.7778"),
    "C": ("0.25", "0.5", "3.75", "1", "0.3403"),
    "D": ("1", "1", "7", "2", "1.0000"),
    "E": ("1", "2", "9", "3", "1.7778"),
    "F": ("1", "3", "11", "4", "2.7778"),
}


@pytest.mark.parametrize("key", P1)
def test_three_point_mean_and_variance_of_the_published_example(key):
    o, m, p, expected, variance = P1[key]
    point = ThreePoint(D(o), D(m), D(p))
    assert point.expected == D(expected)
    assert rounded(point.variance, Round.HALF_UP, 4) == D(variance)


def test_total_of_the_published_example_along_its_critical_path():
    # A-B-E-F: 15, variance 7.3333, deviation 2.7080 (same page's data, by hand).
    total = pert(ThreePoint(*(D(value) for value in P1[key][:3])) for key in "ABEF")
    assert total.expected == 15
    assert rounded(total.variance, Round.HALF_UP, 4) == D("7.3333")
    assert rounded(total.deviation, Round.HALF_UP, 4) == D("2.7080")


def test_chance_to_finish_of_the_published_example():
    # brainmass.com/business/project-management/critical-path-114392: A-D-F-H-J-K within 80 days.
    rows = [(8, 10, 12), (10, 20, 30), (9, 10, 11), (14, 15, 16), (6, 7, 8), (4, 7, 8)]
    total = pert(ThreePoint(*(D(value) for value in row)) for row in rows)
    assert rounded(total.expected, Round.HALF_UP, 4) == D("68.6667")
    assert rounded(total.variance, Round.HALF_UP, 4) == D("12.3333")
    assert rounded(total.deviation, Round.HALF_UP, 4) == D("3.5119")
    assert total.chance_within(D(80)) == pytest.approx(0.99937, abs=5e-6)
    assert total.chance_within(D(80)) == pytest.approx(stats.norm.cdf(80, 68.66667, 3.51188), abs=1e-6)
    assert total.at_share(0.9) == pytest.approx(stats.norm.ppf(0.9, 68.66667, 3.51188), abs=1e-4)


def test_certain_total_has_no_spread():
    total = pert([ThreePoint(D(4), D(4), D(4))])
    assert (total.at_share(0.1), total.chance_within(D(4)), total.chance_within(D(3))) == (4.0, 1.0, 0.0)
    assert simulate([ThreePoint(D(4), D(4), D(4))]).mean == 4.0


hours = st.decimals(min_value="0.1", max_value="40", places=2)
three_points = st.tuples(hours, hours, hours).map(lambda row: ThreePoint(*sorted(row)))


@given(st.lists(three_points, min_size=1, max_size=12), st.integers(0, 1000))
@settings(max_examples=60, deadline=None)
def test_simulation_agrees_with_the_three_point_method(points, seed):
    """The stated error: the mean within five standard errors, the deviation within -15.5 % and +13.4 %
    (the beta distribution's own variance) and five standard errors of sampling."""
    by_formula, by_draw = pert(points), simulate(points, samples=4000, seed=seed)
    assert abs(by_draw.mean - float(by_formula.expected)) <= 5 * by_draw.standard_error + 1e-9
    ratio = by_draw.deviation / float(by_formula.deviation) if by_formula.variance else 1.0
    slack = 5 / (2 * 4000) ** 0.5 * 1.2
    assert 0.845 - slack <= ratio <= 1.134 + slack


@given(three_points.filter(lambda point: point.pessimistic - point.optimistic > 1))
@settings(max_examples=40, deadline=None)
def test_simulation_agrees_with_the_beta_distribution_of_scipy(point):
    low, likely, high = float(point.optimistic), float(point.likely), float(point.pessimistic)
    span = high - low
    beta = stats.beta(1 + 4 * (likely - low) / span, 1 + 4 * (high - likely) / span, loc=low, scale=span)
    drawn = simulate([point], samples=20_000)
    assert beta.mean() == pytest.approx(float(point.expected), rel=1e-9)
    assert drawn.deviation == pytest.approx(beta.std(), rel=0.03)
    for value, share in ((drawn.p10, 0.1), (drawn.p50, 0.5), (drawn.p90, 0.9)):
        assert beta.cdf(value) == pytest.approx(share, abs=0.015)


def test_simulation_is_the_same_every_time():
    points = [ThreePoint(D(1), D(2), D(9)), ThreePoint(D(2), D(5), D(8))]
    assert simulate(points) == simulate(points)
    assert simulate(points) != simulate(points, seed=1)


def test_one_activity_in_two_rooms_is_slow_in_both():
    # One room: deviation (7 - 1) / 6 = 1. Two rooms of one activity: 2; of two activities: sqrt(2).
    point = ThreePoint(D(1), D(4), D(7))
    assert job_spread([("set", point), ("set", point)])[0].variance == 4
    assert job_spread([("set", point), ("grout", point)])[0].variance == 2
    assert job_spread([("set", point), ("set", point)])[1].deviation == pytest.approx(1.134 * 2, rel=0.03)


# --- hours of a task -------------------------------------------------------------------------------


def test_hours_by_hand():
    # 40 sq ft: 0.5 + 40/20 = 2.5; 0.5 + 40/10 = 4.5; 0.5 + 40/5 = 8.5.
    # (2.5 + 4 * 4.5 + 8.5) / 6 = 29 / 6 = 4.8333, up to 4.9.
    figure = task_hours(a_task(), RATES)
    assert figure.value == D("4.9")
    assert figure.unit == "h"
    values = {line.symbol: line.value for line in figure.lines}
    assert (values["Ho"], values["Hm"], values["Hp"]) == (D("2.5"), D("4.5"), D("8.5"))


def test_factors_bear_on_the_work_and_not_on_the_set_up():
    # x 1.25 x 1.2 = 1.5: 0.5 + 3 = 3.5; 0.5 + 6 = 6.5; 0.5 + 12 = 12.5; 42/6 = 7.
    slow = (Factor("a", phrase("Small"), D("1.25")), Factor("b", phrase("High"), D("1.2")))
    assert task_hours(a_task(difficulty=slow), RATES).value == D("7.0")


def test_minimum_holds_in_all_three_cases():
    # 1 sq ft: 0.55, 0.6, 0.7, each raised to 1.
    figure = task_hours(a_task("1"), RATES)
    assert figure.value == 1


def test_exact_hours_are_not_rounded_up_further():
    # 15 sq ft at 10 throughout: 0.5 + 1.5 = 2.0 h exactly.
    assert task_hours(a_task("15"), {"set": a_rate(("10", "10", "10"))}).value == D("2.0")
    # A third of an hour thrice is one hour, although 1/3 has no end: 1 sq ft at 3 an hour, and so on.
    even = {"set": a_rate(("3", "3", "3"), setup_h=D(0), minimum_h=D(0))}
    assert task_hours(a_task("3"), even).value == 1


def test_rounding_step_is_a_setting():
    assert task_hours(a_task(), RATES, practice=LabourPractice(step_h=D("0.25"))).value == D("5.00")


def test_no_quantity_takes_no_time():
    figure = task_hours(a_task("0"), RATES)
    assert figure.value == 0
    assert figure.evaluate() == 0


def test_metric_site_sees_metric_units_and_the_same_hours():
    by_inch = task_hours(a_task(), RATES, System.INCH)
    by_metre = task_hours(a_task(), RATES, System.METRIC)
    assert by_metre.value == by_inch.value
    units = {line.symbol: line.unit for line in by_metre.lines}
    assert (units["Q"], units["Rm"]) == ("sq m", "sq m/h")
    # 40 sq ft = 3.716 sq m (1 ft = 0.3048 m exactly).
    assert rounded(by_metre.lines[0].value, Round.HALF_UP, 6) == D("3.716122")


@pytest.mark.parametrize("rate", DEFAULT_RATES.values(), ids=lambda rate: rate.key)
@pytest.mark.parametrize("system", list(System))
def test_every_default_rate_gives_a_figure_that_evaluates_again(rate, system):
    slow = difficulty(rate, floor=Measure(D(35), "sq ft"), high=True, poor_access=True, many_cuts=True,
                      occupied=True)  # fmt: skip
    tasks = [
        Task(f"{rate.key}-{room}", rate.key, room, Measure(D("37.5"), rate.unit), slow, like="bath")
        for room in ("one", "two", "three")
    ]
    for row in labour_hours(tasks, DEFAULT_RATES, system):
        assert row.hours.evaluate() == row.hours.value > 0
        assert row.hours.value >= row.spread.expected
        assert row.hours.value - row.spread.expected < D("0.1")
        assert row.task.crew == rate.crew
        sources = {str(line.source) for line in row.hours.lines if not isinstance(line, Step) and line.source}
        assert sources == {"common practice, no source"}


def test_the_default_table_is_whole():
    wanted = {
        "protect", "demolish_tile", "demolish_resilient", "prepare", "level", "backer_board",
        "membrane_corners", "membrane_strips", "membrane_floor", "membrane_wall", "membrane_penetrations",
        "flood_test_fill", "flood_test_read", "layout", "set_floor_tile", "set_wall_tile", "set_mosaic",
        "cut_tile", "grout", "movement_joints", "clean_up", "travel",
    }  # fmt: skip
    assert wanted <= set(DEFAULT_RATES)
    for key, rate in DEFAULT_RATES.items():
        assert key == rate.key
        assert rate.step in TRADE_STEPS
        assert rate.origin is Origin.PRACTICE
        assert rate.slowed_by <= set(FACTORS)
    assert {rate.step for rate in DEFAULT_RATES.values()} == set(TRADE_STEPS)


def test_difficulty_counts_only_what_bears_on_the_activity():
    bath = Measure(D(40), "sq ft")
    tile, test = DEFAULT_RATES["set_wall_tile"], DEFAULT_RATES["flood_test_fill"]
    assert [factor.key for factor in difficulty(tile, floor=bath, high=True)] == ["small_room", "height"]
    assert difficulty(test, floor=bath, high=True, poor_access=True, occupied=True) == ()
    # 50 sq ft is not under 50; 4.6 sq m is 49.5 sq ft.
    assert difficulty(tile, floor=Measure(D(50), "sq ft")) == ()
    assert [f.key for f in difficulty(tile, floor=Measure(D("4.6"), "sq m"))] == ["small_room"]


# --- set-up and learning over a job ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("setup", "expected"),
    [
        # Three tasks of 1 sq ft at 1 an hour, set-up 0.5 h, two of them in one room.
        (Once.PER_JOB, ["1.5", "1.0", "1.0"]),
        (Once.PER_ROOM, ["1.5", "1.0", "1.5"]),
        (Once.PER_TASK, ["1.5", "1.5", "1.5"]),
    ],
)
def test_set_up_is_counted_as_often_as_the_rate_says(setup, expected):
    rates = {"set": a_rate(("1", "1", "1"), setup=setup, minimum_h=D(0))}
    tasks = [a_task("1", key=k, room=r) for k, r in (("a", "bath"), ("b", "bath"), ("c", "hall"))]
    assert [row.hours.value for row in labour_hours(tasks, rates)] == [D(value) for value in expected]


def test_nothing_to_do_does_not_pay_for_the_set_up():
    tasks = [a_task("0", key="a"), a_task("1", key="b")]
    rates = {"set": a_rate(("1", "1", "1"), minimum_h=D(0))}
    assert [row.hours.value for row in labour_hours(tasks, rates)] == [0, D("1.5")]


# Published unit-time coefficients of the learning curve (n, share): the table printed at
# tutorsglobe.com/question/assume-you-are-a-project-cost-engineer-calculating-the-cost-52223897.aspx
UNIT_TIMES = [
    (5, "0.70", "0.437"), (5, "0.75", "0.513"), (5, "0.80", "0.596"), (5, "0.85", "0.686"),
    (10, "0.70", "0.306"), (10, "0.75", "0.385"), (10, "0.80", "0.477"), (10, "0.85", "0.583"),
    (15, "0.70", "0.248"), (15, "0.75", "0.325"), (15, "0.80", "0.418"), (15, "0.85", "0.530"),
    (20, "0.70", "0.214"), (20, "0.75", "0.288"), (20, "0.80", "0.381"), (20, "0.85", "0.495"),
    # business-analysis-made-easy.com/learning-curve.html: 50 min, the second 40, the fourth 32.
    (2, "0.80", "0.800"), (4, "0.80", "0.640"),
]  # fmt: skip


@pytest.mark.parametrize(("n", "share", "expected"), UNIT_TIMES)
def test_learning_follows_the_published_table(n, share, expected):
    figure = task_hours(a_task(), RATES, practice=LabourPractice(learning=D(share)), repeat=n)
    values = {line.symbol: line.value for line in figure.lines}
    assert rounded(values["k"], Round.HALF_UP, 3) == D(expected)
    assert figure.evaluate() == figure.value


def test_only_like_rooms_learn_and_each_room_counts_once():
    rates = {"set": a_rate(("1", "1", "1"), setup_h=D(0), minimum_h=D(0))}
    rows = [("a", "one", "bath"), ("b", "one", "bath"), ("c", "two", "bath"), ("d", "hall", "")]
    tasks = [a_task("10", key=key, room=room, like=like) for key, room, like in rows]
    got = [row.hours.value for row in labour_hours(tasks, rates, practice=LabourPractice(learning=D("0.9")))]
    assert got == [10, 10, 9, 10]


@given(
    st.lists(
        st.tuples(
            st.sampled_from(sorted(DEFAULT_RATES)),
            st.sampled_from(["one", "two"]),
            st.decimals(min_value=0, max_value=500, places=2),
        ),
        max_size=8,
    )
)
@settings(max_examples=80, deadline=None)
def test_more_work_is_never_less_time(rows):
    def job(factor):
        return labour_hours(
            [
                Task(str(n), activity, room, Measure(quantity * factor, DEFAULT_RATES[activity].unit))
                for n, (activity, room, quantity) in enumerate(rows)
            ],
            DEFAULT_RATES,
        )

    once, twice = job(1), job(2)
    for small, large in zip(once, twice, strict=True):
        assert small.hours.value <= large.hours.value
        assert small.hours.evaluate() == small.hours.value
        assert small.spread.optimistic <= small.spread.likely <= small.spread.pessimistic
    span = job_range(once)
    assert span.low.value <= rounded(span.expected.value, Round.HALF_UP, 1) <= span.high.value
    for figure in (span.expected, span.deviation, span.low, span.high):
        assert figure.evaluate() == figure.value


def test_range_of_a_job_by_hand():
    """Set 40 sq ft in each of two rooms, once with its set-up each: 2.5, 4.5, 8.5 h twice; so 5, 9, 17.

    Grout at 40, 20, 10 sq ft/h, no set-up: 40 sq ft is 1, 2, 4 h. Expected (5 + 36 + 17)/6 = 9.6667 and
    (1 + 8 + 4)/6 = 2.1667, together 11.8333. Variance (12/6)^2 + (3/6)^2 = 4.25, deviation 2.0616.
    The normal curve's 90 % is 1.2816 deviations (any table): 9.2 and 14.5.
    """
    rates = {**RATES, "grout": replace(a_rate(("40", "20", "10"), setup_h=D(0)), key="grout")}
    tasks = [a_task(key="a", room="one"), a_task(key="b", room="two"), a_task(key="c", activity="grout")]
    span = job_range(labour_hours(tasks, rates))
    assert rounded(span.expected.value, Round.HALF_UP, 4) == D("11.8333")
    assert rounded(span.deviation.value, Round.HALF_UP, 4) == D("2.0616")
    assert (span.low.value, span.high.value) == (D("9.2"), D("14.5"))
    assert span.simulated.mean == pytest.approx(11.8333, abs=5 * span.simulated.standard_error)
    # The beta distributions lean to the right of the normal curve, and are a little wider here.
    assert span.simulated.p10 == pytest.approx(9.2, abs=0.4)
    assert span.simulated.p90 == pytest.approx(14.5, abs=0.6)


def test_range_of_no_work_is_nothing():
    span = job_range([])
    assert span.low.value == span.high.value == span.expected.value == span.simulated.mean == 0


# --- bad input -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "rule", "said"),
    [
        (lambda: ThreePoint(D(2), D(1), D(3)), "labour.three-point", "must rise"),
        (lambda: ThreePoint(D(1), D(2), D("NaN")), "labour.three-point", "NaN"),
        (lambda: a_rate(("5", "10", "20")), "labour.rate", "Set the tile"),
        (lambda: a_rate(("5", "1", "0")), "labour.rate", "above 0"),
        (lambda: a_rate(("5", "1", "-1")), "labour.rate", "above 0"),
        (lambda: a_rate(("Infinity", "1", "1")), "labour.rate", "above 0"),
        (lambda: a_rate(setup_h=D(-1)), "labour.rate", "0 hours or more"),
        (lambda: a_rate(unit="bag"), "labour.unit", "bag"),
        (lambda: a_rate(crew=0), "labour.crew", "at least one worker"),
        (lambda: a_task("-1"), "labour.quantity", "got -1 sq ft"),
        (lambda: a_task("NaN"), "labour.quantity", "0 or more"),
        (lambda: a_task(crew=0), "labour.crew", "at least one worker"),
        (lambda: Factor("f", phrase("Height"), D(0)), "labour.factor", "Height"),
        (lambda: Cure("c", phrase("Bond"), D(-2)), "labour.cure", "Bond"),
        (lambda: LabourPractice(learning=D("0.4")), "labour.learning", "between 0.5 and 1"),
        (lambda: LabourPractice(learning=D("NaN")), "labour.learning", "between 0.5 and 1"),
        (lambda: LabourPractice(step_h=D(0)), "labour.step", "above 0"),
        (lambda: task_hours(a_task(activity="paint"), RATES), "labour.activity", "paint"),
        (lambda: task_hours(a_task(unit="each"), RATES), "units.kind", "tasks.t.quantity: A figure in each"),
        (lambda: a_task(unit="bag"), "labour.unit", "counted in bag"),
    ],
)
def test_bad_input_is_named(make, rule, said):
    with pytest.raises(DomainError) as caught:
        make()
    assert caught.value.rule == rule
    assert said in str(caught.value)
