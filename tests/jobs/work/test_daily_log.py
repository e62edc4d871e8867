"""The daily log: stored once, corrected and never changed, costed by the pay of the day."""

import datetime
import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from contracting.staff import services as staff
from contracting.staff.models import PayRate
from contracting.staff.pay import hour_rate_on
from jobs.margins.models import Ledger, LedgerMaterial, LedgerStep
from jobs.work.daily import services
from jobs.work.models import CostEntry, DayNote, DeliveryEntry, HoursEntry, ProgressEntry
from tests.jobs.margins import factories
from tests.jobs.margins.factories import DAY, act

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(installer, other_installer, office_manager):
    factories.pay()
    return factories.job(installer, other_installer)


def hours(job, by, minutes=480, step="tile", person=None, supersedes=None, **values):
    return services.hours_log(
        act=act(job, by, **values), person=person or by, step=step, minutes=minutes, supersedes=supersedes
    )


def test_hours_cost_the_pay_and_burden_of_the_day(job, installer):
    # 32.00 an hour and 25 % burden: 40.00; 90 minutes are 60.00.
    entry = hours(job, installer, 90)

    assert entry.cost_cents == 6000
    assert Ledger.objects.get(job=job).labour_cents == 6000
    assert LedgerStep.objects.get(job=job, step="tile").minutes == 90


@pytest.mark.parametrize(
    ("day", "cents"),
    [
        (datetime.date(2026, 2, 28), 3200),  # the company's
        (datetime.date(2026, 3, 1), 3500),  # the person's own from that day
        (datetime.date(2026, 6, 1), 3600),  # the newest that has started
    ],
)
def test_the_rate_on_a_day_is_the_newest_that_has_started(job, installer, day, cents):
    staff.pay_rate_save(
        person=installer, starts_on=datetime.date(2026, 3, 1), pay_cents=3500, burden_basis_points=2500
    )
    staff.pay_rate_save(
        person=installer, starts_on=datetime.date(2026, 6, 1), pay_cents=3600, burden_basis_points=2500
    )

    assert hour_rate_on(person=installer, day=day).pay_cents_per_hour == cents


def test_a_rate_entered_late_costs_the_hours_of_that_person_anew(job, installer, other_installer):
    mine, theirs = hours(job, installer, 61), hours(job, other_installer, 60)

    rate = staff.pay_rate_save(person=installer, starts_on=DAY, pay_cents=4000, burden_basis_points=2850)

    mine.refresh_from_db()
    theirs.refresh_from_db()
    # 61 / 60 * 40.00 * 1.2850 = 52.2567, as HourRate rounds it.
    assert mine.cost_cents == 5226 == hour_rate_on(person=installer, day=DAY).cost_cents(61)
    assert theirs.cost_cents == 4000
    assert Ledger.objects.get(job=job).labour_cents == 9226

    staff.pay_rate_remove(pay_rate=rate)
    mine.refresh_from_db()
    assert mine.cost_cents == 4067


def test_without_any_rate_hours_count_and_their_cost_stays_open(installer):
    job = factories.job(installer)
    entry = hours(job, installer, 60)

    assert (entry.cost_cents, entry.pay_cents_per_hour) == (0, None)
    assert Ledger.objects.get(job=job).open_cost_count == 1

    staff.labour_cost_save(starts_on=DAY, pay_cents=3000, burden_basis_points=0)
    ledger = Ledger.objects.get(job=job)
    assert (ledger.open_cost_count, ledger.labour_cents) == (0, 3000)


def test_the_same_key_is_stored_once(job, installer):
    key = uuid.uuid4()
    first = hours(job, installer, key=key)
    again = hours(job, installer, key=key)

    assert first.pk == again.pk
    assert Ledger.objects.get(job=job).minutes == 480


@pytest.mark.parametrize(
    "other",
    [{"minutes": 30}, {"step": "grout"}, {"day": DAY - datetime.timedelta(days=1)}, {"note": "In the hall"}],
    ids=["minutes", "step", "day", "note"],
)
def test_the_next_entry_typed_into_an_old_form_is_refused_and_not_called_logged(job, installer, other):
    """Somebody goes back in the browser, where the form still has its key."""
    key = uuid.uuid4()
    hours(job, installer, key=key)

    with pytest.raises(ValidationError, match="with other values"):
        hours(job, installer, **({"key": key} | other))


def test_other_entries_typed_into_an_old_form_are_refused_too(job, installer, office_manager):
    def logged(by, log, **values):
        who = act(job, by, key=uuid.uuid4())
        assert log(act=who, **values) == log(act=who, **values)
        return who

    who = logged(installer, services.delivery_log, material_key="m2", packs_millionths=10**6)
    with pytest.raises(ValidationError, match="with other values"):
        services.delivery_log(act=who, material_key="m2", packs_millionths=2 * 10**6)
    who = logged(installer, services.progress_log, step="tile", done_basis_points=3000)
    with pytest.raises(ValidationError, match="with other values"):
        services.progress_log(act=who, step="tile", done_basis_points=4000)
    who = logged(office_manager, services.cost_log, step="tile", what="Skip", amount_cents=5000)
    with pytest.raises(ValidationError, match="with other values"):
        services.cost_log(act=who, step="tile", what="Second skip", amount_cents=5000)
    who = logged(installer, services.note_log, kind="visitor", text="The plumber")
    with pytest.raises(ValidationError, match="with other values"):
        services.note_log(act=who, kind="visitor", text="The plumber's brother")


def test_a_key_of_somebody_else_is_refused(job, installer, other_installer):
    entry = hours(job, installer)

    with pytest.raises(ValidationError, match="has this key already"):
        hours(job, other_installer, key=entry.key)


def test_a_correction_supersedes_and_both_stay(job, installer):
    first = hours(job, installer, 480)
    second = hours(job, installer, 420, step="grout", supersedes=first)

    assert HoursEntry.objects.filter(job=job).count() == 2
    assert list(HoursEntry.objects.filter(job=job, superseded_by=None)) == [second]
    assert Ledger.objects.get(job=job).minutes == 420
    assert LedgerStep.objects.get(job=job, step="tile").minutes == 0
    with pytest.raises(ValidationError, match="corrected this entry already"):
        hours(job, installer, 400, supersedes=first)


def test_a_correction_to_nothing_strikes_out(job, installer):
    hours(job, installer, 0, supersedes=hours(job, installer))

    assert Ledger.objects.get(job=job).labour_cents == 0


def test_a_day_has_24_hours_over_all_jobs(job, installer):
    other = factories.job(installer)
    hours(other, installer, 1000)

    with pytest.raises(ValidationError, match=r"16\.7 h logged already"):
        hours(job, installer, 441)
    hours(job, installer, 440)


def test_an_installer_logs_and_corrects_their_own_alone(job, installer, other_installer, office_manager):
    with pytest.raises(ValidationError, match="You log your own hours"):
        hours(job, installer, person=other_installer)
    entry = hours(job, other_installer)
    with pytest.raises(ValidationError, match="what you wrote yourself"):
        services.hours_log(
            act=act(job, installer), person=installer, step="tile", minutes=60, supersedes=entry
        )
    hours(job, office_manager, 60, person=other_installer, supersedes=entry)


def test_somebody_off_the_crew_is_refused(job, office_manager, owner):
    with pytest.raises(ValidationError, match="not on the crew"):
        hours(job, office_manager, person=owner)


@pytest.mark.parametrize("step", ["", "roofing"])
def test_an_unknown_step_is_refused_in_words(job, installer, step):
    with pytest.raises(ValidationError, match="one of the trade steps"):
        hours(job, installer, step=step)


def test_a_day_to_come_is_refused(job, installer):
    with pytest.raises(ValidationError, match="up to today"):
        hours(job, installer, day=timezone.localdate() + datetime.timedelta(days=1))


def test_repeating_yesterday_twice_logs_once(job, installer, other_installer, office_manager):
    hours(job, installer, 480)
    hours(job, other_installer, 300, step="grout")
    key, day = uuid.uuid4(), DAY + datetime.timedelta(days=1)

    for _ in range(2):
        services.hours_repeat(key=key, job=job, day=day, by=office_manager)

    rows = HoursEntry.objects.filter(job=job, day=day).order_by("minutes")
    assert [(row.person, row.step, row.minutes) for row in rows] == [
        (other_installer, "grout", 300),
        (installer, "tile", 480),
    ]
    with pytest.raises(ValidationError, match="no earlier day"):
        services.hours_repeat(key=uuid.uuid4(), job=factories.job(), day=day, by=office_manager)


def delivery(job, by, packs=15, key="m2", **values):
    return services.delivery_log(act=act(job, by), material_key=key, packs_millionths=packs * 10**6, **values)


def test_a_delivery_counts_at_the_budgets_price_until_the_office_confirms(job, installer, office_manager):
    # 30 boxes for 900.00, so 15 are 450.00.
    entry = delivery(job, installer, lot_numbers="L 77, L 78")
    assert (entry.cost_cents, entry.is_cost_confirmed, entry.material_name) == (
        45000,
        False,
        "Floor tile 12 in",
    )
    assert Ledger.objects.get(job=job).open_cost_count == 1

    paid = services.delivery_confirm_cost(
        key=uuid.uuid4(), delivery=entry, cost_cents=48000, by=office_manager
    )

    ledger = Ledger.objects.get(job=job)
    assert (ledger.material_cents, ledger.open_cost_count) == (48000, 0)
    assert (paid.lot_numbers, paid.packs_millionths) == ("L 77, L 78", 15 * 10**6)
    # A quantity that is corrected afterwards leaves the invoice as it is.
    more = delivery(job, office_manager, 16, supersedes=paid)
    assert (more.cost_cents, more.is_cost_confirmed) == (48000, True)
    assert LedgerMaterial.objects.get(job=job, material_key="m2").packs_millionths == 16 * 10**6


def test_what_goes_back_is_credited(job, office_manager):
    delivery(job, office_manager, 30)
    delivery(job, office_manager, -2, cost_cents=5800)

    assert Ledger.objects.get(job=job).material_cents == 90000 - 5800


def test_an_installer_enters_no_cost(job, installer):
    with pytest.raises(ValidationError, match="The office enters"):
        delivery(job, installer, cost_cents=1)
    with pytest.raises(ValidationError, match="The office enters"):
        services.cost_log(act=act(job, installer), step="tile", what="Blade", amount_cents=4000)


def test_what_is_not_on_the_list_is_named(job, installer):
    with pytest.raises(ValidationError, match="Say what came"):
        delivery(job, installer, key="", step="tile")
    entry = delivery(job, installer, 1, key="", step="tile", material_name="Wedges")

    assert (entry.material_key, entry.cost_cents) == ("other:wedges", 0)


def test_other_costs_progress_and_notes(job, office_manager, installer):
    services.cost_log(act=act(job, office_manager), step="demolition", what="Skip", amount_cents=25000)
    services.progress_log(act=act(job, installer), step="tile", done_basis_points=5000)
    services.note_log(act=act(job, installer), kind="delay", text="No water on site", minutes=90)

    assert Ledger.objects.get(job=job).other_cents == 25000
    assert LedgerStep.objects.get(job=job, step="tile").done_basis_points == 5000
    with pytest.raises(ValidationError, match="Time is lost by a delay"):
        services.note_log(act=act(job, installer), kind="visitor", text="Owner", minutes=5)


@pytest.mark.parametrize(
    ("model", "values", "name"),
    [
        (HoursEntry, {"minutes": 1441}, "hours_within_a_day"),
        (HoursEntry, {"minutes": 0}, "hours_struck_only_by_correction"),
        (HoursEntry, {"step": ""}, "hours_have_a_step"),
        (HoursEntry, {"cost_cents": 5}, "hours_cost_needs_a_rate"),
        (DeliveryEntry, {"packs_millionths": 0}, "delivery_struck_only_by_correction"),
        (DeliveryEntry, {"cost_cents": -1}, "delivery_cost_has_the_sign_of_its_packs"),
        (DeliveryEntry, {"material_key": ""}, "delivery_says_what_it_is"),
        (CostEntry, {"what": ""}, "cost_says_what_it_is"),
        (CostEntry, {"amount_cents": 0}, "cost_struck_only_by_correction"),
        (CostEntry, {"amount_cents": 10**10}, "cost_believable"),
        (ProgressEntry, {"done_basis_points": 10_001}, "progress_at_most_all"),
        (DayNote, {"kind": "party"}, "day_note_kind_known"),
        (DayNote, {"text": ""}, "day_note_struck_only_by_correction"),
        (DayNote, {"kind": "visitor", "minutes": 5}, "day_note_time_lost_only_by_delay"),
    ],
)
def test_the_database_keeps_the_rules(job, installer, model, values, name):
    valid = {
        HoursEntry: {"person": installer, "step": "tile", "minutes": 60},
        DeliveryEntry: {"step": "tile", "material_key": "m", "material_name": "M", "packs_millionths": 1},
        CostEntry: {"step": "tile", "what": "Blade", "amount_cents": 1},
        ProgressEntry: {"step": "tile", "done_basis_points": 1},
        DayNote: {"kind": "other", "text": "Note"},
    }[model]
    common = {"key": uuid.uuid4(), "job": job, "day": DAY, "by": installer, "at": timezone.now()}

    model.objects.create(**common | valid)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        model.objects.create(**common | {"key": uuid.uuid4()} | valid | values)
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.create(**common | valid)


@pytest.mark.parametrize(
    "values", [{"pay_cents_per_hour": 0}, {"burden_basis_points": 30001}], ids=["pay", "burden"]
)
def test_a_pay_rate_is_believable(installer, values):
    valid = {"person": installer, "starts_on": DAY, "pay_cents_per_hour": 1, "burden_basis_points": 0}
    with pytest.raises(IntegrityError):
        PayRate.objects.create(**valid | values)


def test_the_database_refuses_to_change_an_entry(job, installer, office_manager):
    entries = [
        hours(job, installer),
        delivery(job, installer),
        services.cost_log(act=act(job, office_manager), step="tile", what="Blade", amount_cents=1),
        services.progress_log(act=act(job, installer), step="tile", done_basis_points=1),
        services.note_log(act=act(job, installer), kind="other", text="Note"),
    ]
    for entry in entries:
        with pytest.raises(IntegrityError, match="never changed, only superseded"), transaction.atomic():
            type(entry).objects.filter(pk=entry.pk).update(day=DAY - datetime.timedelta(days=1))
