"""The programme over slices, by hand and against every set of rolls; sections made anew."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from estimates.takeoff.cutting.fill import Cloth
from estimates.takeoff.cutting.fullness import fullness
from estimates.takeoff.cutting.remake import Remaker
from estimates.takeoff.cutting.sets import cheapest_set
from estimates.takeoff.cutting.sizes import Shape, Stock
from estimates.takeoff.cutting.slices import SliceProgramme, job_programme


def stock(width, length, cost, available=-1):
    return Stock(width, length, cost, available, False, 0)


def least_length(programme, width):
    return Fraction(programme.need(), programme.slice_worth(width))


@pytest.mark.parametrize(
    ("shapes", "least"),
    [
        # 65 and 40 do not lie side by side in 100, two of 40 do: 3 x 10 + 3 x 10 / 2.
        pytest.param([Shape(65, 10, 3), Shape(40, 10, 3)], 45, id="side by side"),
        # Beside 80 lie two turned, 10 each: 4.8 lie flat (48 long), 1.2 turned (96, two at a time 48).
        pytest.param([Shape(80, 10, 6, True)], 48, id="turned"),
        # One of 80 leaves 20 for two of 10 turned: all six lie beside the 80 x 240.
        pytest.param([Shape(80, 240, 1), Shape(80, 10, 6, True)], 240, id="turned beside"),
    ],
)
def test_the_least_length_of_one_width_by_hand(shapes, least):
    programme = job_programme(shapes, [stock(100, 1000, 1000)])

    # Prices are rounded down to whole numbers, so the proof may fall short by a hair.
    assert least * (1 - 1e-6) <= least_length(programme, 100) <= least


def test_a_way_of_laying_is_chosen_for_what_lies_beside_it():
    # 60 x 100 leaves 40; the row's first way is 50 x 100 (less area), its second two of 40 x 70.
    row = [Counter({(50, 100, False): 1}), Counter({(40, 70, False): 1, (40, 30, False): 1})]
    programme = SliceProgramme([row], Counter({(60, 100, False): 1}), [stock(100, 1000, 1000)])
    programme.solve()

    assert programme.shares == [[pytest.approx(0), pytest.approx(1)]]
    assert least_length(programme, 100) == pytest.approx(100)


def test_sets_of_two_widths_are_tried_one_by_one():
    # Ten of 60 x 100: six go on the wide roll, three on the narrow one. One wide and two narrow (150) hold
    # twelve, four narrow (160) twelve, two wide (140) twelve; one of each (110) nine.
    stocks = [stock(60, 300, 40), stock(100, 600, 70)]
    programme = job_programme([Shape(60, 100, 10)], stocks)

    assert cheapest_set(fullness(programme), 0, 10_000) == 140


def test_sections_made_anew_hold_every_piece_and_get_no_dearer():
    shapes = [Shape(70, 90, 3), Shape(30, 45, 5), Shape(60, 50, 4), Shape(38, 50, 4), Shape(100, 4, 20, True)]
    programme = job_programme(shapes, [stock(100, 1000, 1000)])
    cloth = Cloth(100, programme.rates[100], 1000)
    counts = {at: shape.count for at, shape in enumerate(shapes)}
    search = Remaker(shapes, [cloth], programme.values, [], counts, [])
    first = search.best_cost

    for _ in range(60):
        search.step(0.0)

    held: Counter[int] = Counter()
    for made in search.best:
        held.update(made.holds)
        assert made.section.block.across <= 100
    assert held == counts
    length = sum(made.section.block.along for made in search.best)
    assert least_length(programme, 100) <= length
    assert search.best_cost <= first
