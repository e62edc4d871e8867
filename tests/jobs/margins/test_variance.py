"""The split of a variance: a published example of standard costing, and properties."""

from hypothesis import given
from hypothesis import strategies as st

from jobs.margins.variance import Labour, Material, Other, Split, Standing, total, with_deductions

# A published exercise with its solution (ja3.jsfiddle.net/parte/15082446): standard 2.30 and 15,000 units,
# actual 2.10 and 16,500: price variance 3,300 favourable, quantity 3,450 unfavourable. Standard 7.50 an hour
# and 70 h, actual 500 h for 4,250: rate 500 unfavourable, efficiency 3,225 unfavourable.


def test_published_material_variances():
    found = Material("m", "tile", 15_000 * 10**6, 3_450_000, 16_500 * 10**6, 3_465_000, is_finished=True)

    assert found.split == Split(price=330_000, quantity=-345_000)


def test_published_labour_variances():
    found = Labour("tile", 70 * 60, 52_500, 500 * 60, 425_000, is_finished=True)

    assert found.split == Split(rate=-50_000, hours=-322_500)


def test_a_running_step_without_a_report_gives_no_alarm_until_it_passes_its_budget():
    # 10 h at 40.00 foreseen.
    half = Labour("tile", 600, 40_000, 300, 20_000)
    over = Labour("tile", 600, 40_000, 660, 44_000)

    assert (half.earned_cents, half.split) == (20_000, Split())
    assert (over.earned_cents, over.split) == (40_000, Split(hours=-4_000))


def test_a_report_says_what_the_hours_have_earned():
    # 5 h gone, 40 % done: 160.00 earned of 400.00.
    assert Labour("tile", 600, 40_000, 300, 20_000, done=4_000).split == Split(hours=-4_000)


def test_a_pallet_bought_ahead_is_no_overrun():
    all_at_once = Material("m", "tile", 30 * 10**6, 90_000, 30 * 10**6, 93_000)
    two_more = Material("m", "tile", 30 * 10**6, 90_000, 32 * 10**6, 96_000)

    assert all_at_once.split == Split(price=-3_000)
    assert two_more.split == Split(quantity=-6_000)


def test_what_has_no_budget_is_scope():
    parts = [
        Labour("backer", 0, 0, 120, 8_000).split,
        Material("other:wedges", "tile", 0, 0, 10**6, 1_200).split,
        Other("tile", 0, 3_000).split,
    ]

    assert total(parts) == Split(scope=-12_200)


def test_what_a_change_took_away_is_earned_as_the_rest_is():
    """10 h for 400.00, half of it done; a change takes 100.00 of other costs away: half of that too."""
    half = [Labour("tile", 600, 40_000, 300, 20_000), Other("tile", -10_000, 0)]
    whole = [Labour("tile", 600, 40_000, 600, 40_000), Other("tile", -10_000, 0)]
    alone = [Material("m", "grout", -(10**6), -2_500, 0, 0)]

    def earned(elements):
        return [one.earned_cents for one in with_deductions(elements, group=lambda one: one.step)]

    assert earned(half) == [20_000, -5_000]
    assert earned(whole) == [40_000, -10_000]
    assert earned(alone) == [-2_500]


cents = st.integers(0, 10**9)
minutes = st.integers(0, 10**6)
packs = st.integers(0, 10**10)
done = st.none() | st.integers(0, 10_000)
labours = st.builds(Labour, st.just("tile"), minutes, cents, minutes, cents, done, st.booleans())
materials = st.builds(
    Material, st.just("m"), st.just("tile"), packs, cents, st.integers(-(10**9), 10**10), cents, st.booleans()
)
others = st.builds(Other, st.just("tile"), cents, cents, st.booleans())
elements = st.lists(labours | materials | others, max_size=12).map(tuple)
taken = st.integers(-(10**9), -1)
deductions = (
    st.builds(Labour, st.just("tile"), minutes, taken, minutes, cents, done)
    | st.builds(Material, st.just("m"), st.just("tile"), st.integers(-(10**10), 0), taken, packs, cents)
    | st.builds(Other, st.just("tile"), taken, cents)
)


@given(labours | materials | others)
def test_the_parts_sum_to_earned_less_actual_to_the_cent(element):
    assert element.split.whole == element.earned_cents - element.cost_cents


@given(labours | materials | others)
def test_no_more_than_the_budget_is_earned(element):
    assert 0 <= element.earned_cents <= element.budget_cents


@given(elements, st.lists(deductions, max_size=4))
def test_with_deductions_no_more_is_earned_than_is_left_to_do_and_the_parts_still_sum(found, less):
    every = with_deductions([*found, *less], group=lambda one: one.step)
    standing = Standing(tuple(every), 100, 50, 7, 100)

    # Half a cent of rounding for each deduction.
    if standing.budget_cents >= 0 and any(one.budget_cents > 0 for one in found):
        assert standing.earned_cents <= standing.budget_cents + len(less)
    assert all(one.split.whole == one.earned_cents - one.cost_cents for one in every)
    assert standing.split.whole == standing.margin_cents - standing.quoted_margin_cents


@given(elements, cents, cents, cents, cents)
def test_the_split_is_the_whole_way_from_the_quoted_margin_to_the_margin_now(
    found, quoted_price, quoted_cost, overhead, price
):
    standing = Standing(found, quoted_price, quoted_cost, overhead, price)

    assert standing.split.whole == standing.margin_cents - standing.quoted_margin_cents


@given(elements)
def test_a_job_whose_every_step_is_finished_has_its_actual_margin(found):
    finished = tuple(
        type(one)(**{name: getattr(one, name) for name in one.__dataclass_fields__} | {"is_finished": True})
        for one in found
    )
    standing = Standing(finished, 100, 50, 7, 100)

    assert standing.margin_cents == 100 - standing.actual_cents - 7


@given(labours)
def test_another_hour_never_raises_the_margin(labour):
    longer = Labour(
        labour.step,
        labour.budget_minutes,
        labour.budget_cents,
        labour.minutes + 60,
        labour.cost_cents,
        labour.done,
        labour.is_finished,
    )

    assert longer.split.hours <= labour.split.hours
