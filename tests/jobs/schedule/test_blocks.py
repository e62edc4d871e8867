"""When visits are: against networkx's longest path, against networks done by hand, and by property.

Cures and the flood test are those of the takeoff; that no test stands shorter than 24 h is ASTM D5957 (the
membrane stands 24 h before it is flooded: 5.4).
"""

import datetime
import itertools
from dataclasses import replace
from zoneinfo import ZoneInfo

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.takeoff.sequence import Calendar
from jobs.schedule.blocks import Block, Days, Part, blocks_of, gaps, held_back, settle
from jobs.schedule.network import network_of

from .factories import MONDAY, NETWORK, task

ZONE = ZoneInfo("America/Chicago")
DAYS = Days(Calendar(), ZONE)


def said(blocks):
    return [
        (
            f"{block.start:%a %H:%M}",
            f"{DAYS.after(block.start, block.minutes):%H:%M}",
            [part.task for part in block.parts],
        )
        for block in blocks
    ]


def test_the_sequence_becomes_visits_with_its_waits_between():
    blocks = blocks_of(network_of(NETWORK), start=MONDAY, days=DAYS, people=2)

    # By hand: 16 man-hours of two are 8 h, Monday 8:00 to 16:30. 24 h later the test is filled (1 h of one)
    # in the last moment of Tuesday's working day, so in whole on Wednesday morning; read a day after it, with
    # the tile after it; 24 h of mortar after Friday morning end on a Saturday.
    assert said(blocks) == [
        ("Mon 08:00", "16:30", ["membrane"]),
        ("Wed 08:00", "09:00", ["fill"]),
        ("Thu 09:00", "16:30", ["read", "tile"]),
        ("Fri 08:00", "10:00", ["tile"]),
        ("Mon 08:00", "12:00", ["grout"]),
    ]


def test_a_crew_of_one_takes_longer():
    one = blocks_of(network_of(NETWORK), start=MONDAY, days=DAYS, people=1)
    two = blocks_of(network_of(NETWORK), start=MONDAY, days=DAYS, people=2)

    assert one[-1].start > two[-1].start
    assert sum(block.minutes for block in one) > sum(block.minutes for block in two)


def test_work_that_starts_on_a_closed_day_starts_on_the_next_open_one():
    days = Days(Calendar(holidays=frozenset({MONDAY})), ZONE)

    blocks = blocks_of(network_of(NETWORK), start=MONDAY - datetime.timedelta(days=1), days=days, people=2)

    assert blocks[0].start == datetime.datetime(2026, 6, 2, 8, tzinfo=ZONE)


def test_a_short_visit_joins_the_next_one_unless_a_wait_lies_between():
    apart = {
        **task("a", "tile", "8", crew=1),
        **task("b", "tile", "0.25", "a", crew=1),
        **task("c", "grout", "4", ("a", "mortar", "24"), "b", crew=1),
    }
    blocks = blocks_of(network_of(apart), start=MONDAY, days=DAYS, people=1)

    # The quarter hour of Tuesday morning waits for Wednesday, when the mortar is hard.
    assert said(blocks) == [("Mon 08:00", "16:30", ["a"]), ("Wed 08:00", "12:45", ["b", "c"])]


def test_a_flood_test_is_never_joined_with_its_reading():
    blocks = blocks_of(network_of(NETWORK), start=MONDAY, days=DAYS, people=2)

    (fill,) = [block for block in blocks if block.parts[0].task == "fill"]
    (read,) = [block for block in blocks if block.parts[0].task == "read"]
    assert read.start - DAYS.after(fill.start, fill.parts[0].end) >= datetime.timedelta(hours=24)


def moved(blocks, number, start):
    return [
        replace(block, start=start, stays=True) if block.position == blocks[number].position else block
        for block in blocks
    ]


def test_what_follows_moves_along_only_as_far_as_it_must():
    network = network_of(NETWORK)
    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=2)
    # The filling goes from Wednesday 8:00 to Thursday 8:00.
    later = moved(blocks, 1, datetime.datetime(2026, 6, 4, 8, tzinfo=ZONE))

    starts = settle(network, later, DAYS).starts

    assert [f"{starts[block.key]:%a %d %H:%M}" for block in blocks] == [
        "Mon 01 08:00",
        "Thu 04 08:00",
        # Read a day after it was filled: Friday at 9:00.
        "Fri 05 09:00",
        # Two hours of tile: the next working day, which is Monday.
        "Mon 08 08:00",
        # Mortar of Monday 10:00 is hard on Tuesday at 10:00.
        "Tue 09 10:00",
    ]


def test_float_is_used_up_before_anything_moves():
    network = network_of(
        {**task("a", "tile", "2", crew=1), **task("b", "grout", "2", ("a", "mortar", "24"), crew=1)}
    )
    first = Block("0", 0, datetime.datetime(2026, 6, 1, 8, tzinfo=ZONE), 120, (Part("a", 0, 120),))
    second = Block("1", 1, datetime.datetime(2026, 6, 4, 8, tzinfo=ZONE), 120, (Part("b", 0, 120),))

    later = settle(network, moved([first, second], 0, datetime.datetime(2026, 6, 2, 8, tzinfo=ZONE)), DAYS)

    assert later.starts["1"] == second.start


def test_a_visit_set_by_hand_stays_and_is_told_late():
    network = network_of(NETWORK)
    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=2)
    later = moved(blocks, 1, datetime.datetime(2026, 6, 4, 8, tzinfo=ZONE))
    later = moved(later, 2, blocks[2].start)

    found = settle(network, later, DAYS)

    assert found.starts[blocks[2].key] == blocks[2].start
    late = found.late[blocks[2].key]
    assert late.until.astimezone(ZONE) == datetime.datetime(2026, 6, 5, 9, tzinfo=ZONE)
    assert late.need is not None
    assert late.need.cure == "flood test"


def test_too_early_is_told_with_the_first_time_that_is_right():
    network = network_of(NETWORK)
    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=2)
    early = moved(blocks, 1, datetime.datetime(2026, 6, 2, 8, tzinfo=ZONE))

    first, late = held_back(network, early, blocks[1].key, DAYS)

    # The membrane is done on Monday at 16:30 and stands for 24 h, to the end of Tuesday's working day.
    assert late.until.astimezone(ZONE) == datetime.datetime(2026, 6, 2, 16, 30, tzinfo=ZONE)
    assert first == datetime.datetime(2026, 6, 3, 8, tzinfo=ZONE)


def test_a_day_is_24_hours_over_a_change_of_the_clocks():
    # In Chicago the clocks go back on 1 November 2026 at 2:00 (US rule, 15 U.S.C. 260a: first Sunday).
    network = network_of(
        {**task("a", "tile", "1", crew=1), **task("b", "grout", "1", ("a", "mortar", "24"), crew=1)}
    )
    days = Days(Calendar(weekdays=frozenset(range(7))), ZONE)
    saturday = Block("0", 0, datetime.datetime(2026, 10, 31, 12, 30, tzinfo=ZONE), 60, (Part("a", 0, 60),))
    sunday = Block("1", 1, datetime.datetime(2026, 11, 1, 8, tzinfo=ZONE), 60, (Part("b", 0, 60),))

    starts = settle(network, [saturday, sunday], days).starts

    # 13:30 summer time and 24 h are 12:30 winter time.
    assert starts["1"] == datetime.datetime(2026, 11, 1, 12, 30, tzinfo=ZONE)


def test_the_breaks_of_a_day_are_no_work():
    start = datetime.datetime(2026, 6, 1, 11, tzinfo=ZONE)

    assert DAYS.after(start, 60).time() == datetime.time(12)
    assert DAYS.after(start, 90).time() == datetime.time(13)
    assert DAYS.day_minutes == 480
    assert DAYS.minutes_between(start, DAYS.after(start, 90)) == 90


def test_waits_are_named_with_what_they_hold_back():
    network = network_of(NETWORK)
    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=2)

    found = [(gap.need.cure, gap.holds) for gap in gaps(network, blocks, DAYS)]

    assert found == [("before test", True), ("flood test", True), ("mortar", True), ("grout", False)]


@st.composite
def networks(draw):
    """Networks of up to nine tasks with waits of up to two days, in an order that has no circle."""
    rows = {}
    for number in range(draw(st.integers(2, 9))):
        before = draw(st.sets(st.integers(0, number - 1), max_size=3)) if number else set()
        after = []
        for one in sorted(before):
            hours = draw(st.sampled_from(["0", "0", "2", "24", "48"]))
            after.append(f"t{one}" if hours == "0" else (f"t{one}", f"wait {hours}", hours))
        hours = draw(st.sampled_from(["0.25", "1", "3", "7.5", "12"]))
        rows |= task(f"t{number}", "tile", hours, *after, crew=draw(st.integers(1, 2)))
    return rows


def check(network, blocks, starts):
    """Every task begins after what it waits for, and no two visits of the crew lie over each other."""
    begins, ends = {}, {}
    for block in blocks:
        for part in block.parts:
            start = starts[block.key]
            begins.setdefault(part.task, DAYS.after(start, part.at))
            ends[part.task] = DAYS.after(start, part.end)
    for key, step in network.items():
        for need in step.needs:
            wait = datetime.timedelta(hours=float(need.hours))
            assert begins[key].astimezone(datetime.UTC) >= ends[need.after].astimezone(datetime.UTC) + wait
    spans = sorted((starts[block.key], DAYS.after(starts[block.key], block.minutes)) for block in blocks)
    assert all(one[1] <= other[0] for one, other in itertools.pairwise(spans))


@settings(max_examples=80, deadline=None)
@given(rows=networks(), people=st.integers(1, 3), pick=st.integers(0, 50), by=st.integers(1, 20))
def test_no_plan_and_no_move_breaks_the_sequence(rows, people, pick, by):
    network = network_of(rows)
    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=people)
    starts = {block.key: block.start for block in blocks}
    check(network, blocks, starts)

    number = pick % len(blocks)
    later = blocks[number].start + datetime.timedelta(days=by)
    found = settle(network, moved(blocks, number, later), DAYS)

    assert not found.late
    for block in blocks:
        if block.position != blocks[number].position:
            assert found.starts[block.key] >= block.start
            if block.position < blocks[number].position:
                assert found.starts[block.key] == block.start


@settings(max_examples=60, deadline=None)
@given(rows=networks())
def test_no_plan_ends_before_the_longest_path(rows):
    """networkx's longest path through hours and waits, without nights or breaks, bounds every plan."""
    network = network_of(rows)
    graph = networkx.DiGraph()
    for key, step in network.items():
        length = float(step.hours) / step.crew
        graph.add_edge(f"{key} begins", f"{key} ends", weight=length)
        for need in step.needs:
            graph.add_edge(f"{need.after} ends", f"{key} begins", weight=float(need.hours))
    longest = networkx.dag_longest_path_length(graph)

    blocks = blocks_of(network, start=MONDAY, days=DAYS, people=2)
    end = max(DAYS.after(block.start, block.minutes) for block in blocks)

    # A visit may give up to three quarters of an hour of a full day, once a day.
    lost = 0.75 * len(blocks)
    assert (end - blocks[0].start).total_seconds() / 3600 >= longest - lost


@pytest.mark.parametrize("minutes", [60, 480, 600])
def test_a_slot_is_the_first_that_fits(minutes):
    afternoon = datetime.datetime(2026, 6, 5, 15, tzinfo=ZONE)

    found = DAYS.slot(afternoon, minutes)

    assert found == (afternoon if minutes == 60 else datetime.datetime(2026, 6, 8, 8, tzinfo=ZONE))
