"""Earned value against published worked examples."""

from decimal import Decimal

import pytest

from jobs.margins import earned
from jobs.margins.earned import Factor, Position

# The fence example of a project management course (studylib.net/doc/5898152): it prints CV -300, SV -500,
# CPI .893, SPI .833, EAC 4479, ETC 1679 and VAC -479. The page divides by the rounded .893; the exact
# EAC is 4480, so money is compared within the dollar that the page's rounding moves it.
FENCE = Position(budget=Decimal(4000), earned=Decimal(2500), actual=Decimal(2800), planned=Decimal(3000))
# The earned value page of isub.dev: 100,000 over 12 months, 20 % done in month 3, 35,000 spent; it prints
# PV 25,000 and EV 20,000. The indices that follow are computed by hand: 20/35, 20/25 and 100,000 * 35/20.
MONTH_3 = Position(Decimal(100_000), Decimal(20_000), Decimal(35_000), Decimal(25_000))


@pytest.mark.parametrize(
    ("figure", "printed", "within"),
    [
        (earned.cost_variance(FENCE), "-300", "0"),
        (earned.schedule_variance(FENCE), "-500", "0"),
        (earned.cost_performance(FENCE), "0.893", "0.0005"),
        (earned.schedule_performance(FENCE), "0.833", "0.0005"),
        (earned.at_completion(FENCE), "4479", "1"),
        (earned.to_complete(FENCE), "1679", "1"),
        (earned.variance_at_completion(FENCE), "-479", "1"),
        (earned.cost_performance(MONTH_3), "0.5714", "0.00005"),
        (earned.schedule_performance(MONTH_3), "0.80", "0"),
        (earned.at_completion(MONTH_3), "175000", "0"),
        (earned.share_done(MONTH_3), "0.20", "0"),
    ],
)
def test_published_examples(figure, printed, within):
    assert abs(figure.value - Decimal(printed)) <= Decimal(within)
    assert figure.evaluate() == figure.value


@pytest.mark.parametrize(
    ("figure", "by_hand"),
    [
        # 2800 + 1500; 2800 + 1500 / (25/28 * 25/30) = 2800 + 2016; 1500 / 1200; 1500 / (4480 - 2800)
        (earned.at_completion(FENCE), "4480.00"),
        (earned.at_completion(FENCE, Factor.ONE), "4300.00"),
        (earned.at_completion(FENCE, Factor.CPI_SPI), "4816.00"),
        (earned.to_complete_performance(FENCE), "1.25"),
    ],
)
def test_by_hand(figure, by_hand):
    assert figure.value == Decimal(by_hand)


def test_to_reach_its_own_forecast_the_rest_goes_as_so_far():
    needed = earned.to_complete_performance(FENCE, earned.at_completion(FENCE))

    assert needed.value.quantize(Decimal("0.0001")) == Decimal("0.8929")


@pytest.mark.parametrize(
    ("position", "at_completion"),
    [
        (Position(Decimal(4000), Decimal(0), Decimal(0)), "4000.00"),
        (Position(Decimal(4000), Decimal(0), Decimal(500)), "4500.00"),
        (Position(Decimal(4000), Decimal(4000), Decimal(4100)), "4100.00"),
    ],
    ids=["not begun", "spent, nothing earned", "finished"],
)
def test_the_ends_of_a_job(position, at_completion):
    assert earned.at_completion(position).value == Decimal(at_completion)
    assert earned.at_completion(position, Factor.CPI_SPI).value == Decimal(at_completion)


def test_what_cannot_be_formed_is_left_out():
    nothing = Position(Decimal(0), Decimal(0), Decimal(0))

    assert earned.cost_performance(nothing) is None
    assert earned.schedule_performance(nothing) is None
    assert earned.schedule_variance(nothing) is None
    assert earned.share_done(nothing) is None
    assert earned.to_complete_performance(nothing) is None
