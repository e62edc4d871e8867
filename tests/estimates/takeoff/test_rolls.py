"""The membrane of a whole job: the same plan whatever the load, and layings chosen with their cut plan."""

import time
from decimal import Decimal as D
from random import Random

import pytest

from estimates.takeoff.cutting import CutSettings, Piece, RollKind, effort, plan_cuts
from estimates.takeoff.run import run

from .cast import START, house, materials

KINDS = (RollKind("long", D(990), D(20000), 12000), RollKind("wide", D(1500), D(9000), 8800))


def hard(seed):
    chance = Random(seed)  # seeded: the same number makes the same job
    return [Piece(str(at), D(chance.randint(80, 600)), D(chance.randint(100, 1500))) for at in range(40)]


def planned(seed, work):
    return plan_cuts(hard(seed), KINDS, CutSettings(time_limit_s=60, work_limit=work))


@pytest.fixture
def busy(monkeypatch):
    """A machine so busy that every second lasts twenty."""
    monkeypatch.setattr(effort, "perf_counter", lambda: time.perf_counter() * 20)


@pytest.mark.parametrize("seed", [2, 3])
def test_a_search_that_work_ends_gives_the_same_plan_on_a_busy_machine(seed, request):
    at_rest = planned(seed, 2_000_000)
    # The work limit does end it here: with more work it finds a shorter plan.
    assert planned(seed, 12_000_000).length_used_mm < at_rest.length_used_mm

    request.getfixturevalue("busy")

    assert planned(seed, 2_000_000) == at_rest


def test_a_house_is_taken_off_the_same_on_a_busy_machine(request):
    at_rest = run(house(4, tile=False), materials(), start=START)

    request.getfixturevalue("busy")

    assert run(house(4, tile=False), materials(), start=START) == at_rest
