"""Callbacks: their course, the warranty's word on them, and their cost, counted once."""

import datetime
import uuid

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from jobs.margins import ledger
from jobs.margins.models import Ledger, LedgerMaterial, LedgerStep
from jobs.margins.page import job_page
from jobs.margins.selectors import budget_of
from jobs.margins.standing import standing_of
from jobs.margins.variance import Labour, Material, Other, Split
from jobs.punchlist.callbacks import selectors, services
from jobs.punchlist.callbacks.cover import Cover, cover_of
from jobs.punchlist.callbacks.first_page import waiting_section
from jobs.punchlist.callbacks.selectors import Spent
from jobs.punchlist.models import Callback, CallbackEntry, CallbackEvent
from jobs.work.daily import services as daily
from jobs.work.history import history_of
from jobs.work.models import CrewMember, HoursEntry
from tests.jobs.margins import factories as margins
from tests.jobs.punchlist.factories import called_back, found, office

pytestmark = pytest.mark.django_db


def act(callback, by, **values):
    return margins.act(callback.job, by, **values)


def test_a_callback_goes_from_reported_to_resolved_and_keeps_every_word(installer, office_manager):
    callback = called_back(installer)
    services.callback_plan(
        key=uuid.uuid4(), callback=callback, by=office_manager, visitor=installer, visit_on=margins.DAY
    )
    services.callback_found(
        key=uuid.uuid4(), callback=callback, by=installer, cause="movement", text="Crack over a joint"
    )
    services.callback_decide(key=uuid.uuid4(), callback=callback, by=office_manager, is_covered=False)
    services.callback_resolve(key=uuid.uuid4(), callback=callback, by=installer, text="Joint cut and filled")
    services.callback_reopen(key=uuid.uuid4(), callback=callback, by=office_manager, text="Cracked again")

    kept = Callback.objects.get()
    assert (kept.state, kept.cause, kept.is_covered, kept.visit_on) == ("reported", "movement", False, None)
    assert list(kept.events.values_list("kind", flat=True)) == [
        "reported", "planned", "found", "decided", "resolved", "reopened",
    ]  # fmt: skip


def test_only_a_complete_job_is_called_back(installer):
    job = margins.job(installer, stage="punch")
    with pytest.raises(ValidationError, match="The job is not complete"):
        services.callback_report(
            key=uuid.uuid4(), job=job, by=installer, reported_on=margins.DAY, reported_by="Ada", text="Leak"
        )


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"reported_on": datetime.date(2999, 1, 1)}, "reported_on"),
        ({"reported_by": "  "}, "reported_by"),
        ({"text": ""}, "text"),
        ({"text": "x" * 501}, "text"),
    ],
)
def test_a_report_says_what_when_and_who(values, field):
    with pytest.raises(ValidationError) as refused:
        called_back(**values)
    assert field in refused.value.error_dict


def test_who_visits_is_on_the_crew_and_sees_it_first(other_installer, office_manager):
    callback = called_back()
    assert waiting_section(other_installer) is None
    services.callback_plan(
        key=uuid.uuid4(), callback=callback, by=office_manager, visitor=other_installer, visit_on=margins.DAY
    )
    assert CrewMember.objects.filter(job=callback.job, person=other_installer).exists()
    assert waiting_section(other_installer).items[0].title == "Tile by the drain sounds hollow"
    assert len(waiting_section(office_manager).items) == 1


def test_the_office_plans_and_decides(installer):
    callback = found(called_back(installer))
    with pytest.raises(PermissionDenied):
        services.callback_plan(
            key=uuid.uuid4(), callback=callback, by=installer, visitor=installer, visit_on=margins.DAY
        )
    with pytest.raises(PermissionDenied):
        services.callback_decide(key=uuid.uuid4(), callback=callback, by=installer, is_covered=True)
    with pytest.raises(ValidationError, match="The office enters what it cost"):
        services.callback_cost_log(
            callback=callback, act=act(callback, installer), what="Saw", amount_cents=1
        )


def test_nothing_is_decided_or_resolved_before_somebody_has_looked(office_manager):
    callback = called_back()
    with pytest.raises(ValidationError, match="Nobody has looked at it yet"):
        services.callback_decide(key=uuid.uuid4(), callback=callback, by=office_manager, is_covered=True)
    with pytest.raises(ValidationError, match="it cannot become"):
        services.callback_resolve(key=uuid.uuid4(), callback=callback, by=office_manager, text="Done")
    with pytest.raises(ValidationError, match="Choose the cause"):
        found(callback, cause="gremlins")


def test_the_same_key_again_does_nothing_again_and_the_second_of_two_is_told(installer, office_manager):
    callback, stale = called_back(installer), Callback.objects.select_related("job__site").get()
    key = uuid.uuid4()
    for _ in range(2):
        services.callback_found(key=key, callback=callback, by=installer, cause="use", text="Chair leg")
    services.callback_resolve(key=uuid.uuid4(), callback=callback, by=installer, text="Told them")
    with pytest.raises(ValidationError, match="Somebody else has changed this callback"):
        found(stale)
    with pytest.raises(ValidationError, match="Another act has this key already"):
        services.callback_resolve(key=key, callback=callback, by=office_manager, text="Done")
    assert CallbackEvent.objects.filter(kind="found").count() == 1


COVER = Cover("W-1", datetime.date(2026, 6, 1), datetime.date(2028, 6, 1), [])


@pytest.mark.parametrize(
    ("cause", "day", "covered"),
    [
        ("workmanship", datetime.date(2026, 6, 1), True),
        ("workmanship", datetime.date(2028, 6, 1), True),
        ("workmanship", datetime.date(2028, 6, 2), False),
        ("material", datetime.date(2027, 1, 1), False),
        ("movement", datetime.date(2027, 1, 1), False),
        ("use", datetime.date(2027, 1, 1), False),
        ("other", datetime.date(2027, 1, 1), None),
        ("", datetime.date(2027, 1, 1), None),
    ],
)
def test_what_the_terms_say_of_a_cause(cause, day, covered):
    """The default terms cover workmanship for two years and name what they leave out (our own rule)."""
    callback = Callback(cause=cause, reported_on=day)
    assert COVER.suggests(callback) is covered
    assert COVER.words(callback)


def test_without_a_record_the_terms_of_the_day_of_completion_hold(office_manager):
    callback = called_back()
    callback.job.stage_changes.create(
        stage="complete", at=datetime.datetime(2026, 6, 1, 18, tzinfo=datetime.UTC), by=office_manager
    )
    cover = cover_of(callback.job)
    assert (cover.record, cover.starts_on, cover.ends_on) == (
        "", datetime.date(2026, 6, 1), datetime.date(2028, 6, 1),
    )  # fmt: skip


def spend(callback, by, person, minutes=180):
    """3 h at 40.00, one box of the purchase list's tile at its budget of 900.00 / 30, a disposal of 45.00."""
    services.callback_hours_log(callback=callback, act=act(callback, by), person=person, minutes=minutes)
    services.callback_delivery_log(
        callback=callback, act=act(callback, by), material_key="m2", packs_millionths=1_000_000
    )
    services.callback_cost_log(callback=callback, act=act(callback, by), what="Disposal", amount_cents=4_500)


def test_what_a_callback_takes_is_counted_once_and_apart(installer, office_manager):
    margins.pay()
    callback = found(called_back(installer))
    job = callback.job
    daily.hours_log(act=margins.act(job, installer), person=installer, step="tile", minutes=60)
    spend(callback, office_manager, installer)

    # By hand: 3 h of 40.00, 900.00 / 30 boxes, 45.00.
    expected = Spent(180, 12_000, 3_000, 4_500)
    assert selectors.spent_on([callback]) == {callback.pk: expected}
    kept = Ledger.objects.get(job=job)
    assert (kept.labour_cents, kept.material_cents, kept.other_cents) == (16_000, 3_000, 4_500)
    step = LedgerStep.objects.get(job=job, step="callback")
    assert (step.minutes, step.labour_cents, step.other_cents) == (180, 12_000, 4_500)
    assert LedgerMaterial.objects.get(job=job, material_key="callback:m2").packs_millionths == 1_000_000
    before = (kept.actual_cents, kept.open_cost_count)
    ledger.rebuild([job.pk])
    again = Ledger.objects.get(job=job)
    assert (again.actual_cents, again.open_cost_count) == before


def test_the_margin_page_shows_callbacks_as_a_part_whose_sum_is_exact(installer, office_manager):
    margins.pay()
    callback = found(called_back(installer))
    spend(callback, office_manager, installer)
    job = callback.job

    standing = standing_of(job)
    split = standing.split
    assert split.callbacks == -19_500
    assert split.whole == standing.margin_cents - standing.quoted_margin_cents
    at = job_page(job, budget_of(job), margins.DAY)
    part = at.parts[-1]
    assert (part.key, str(part.label)) == ("callbacks", "Callbacks")
    assert part.figure.value * 100 == -19_500
    assert sum(int(one.figure.value * 100) for one in at.parts) == at.whole
    # The tile of the job itself is not charged with the callback's box.
    tile = next(one for one in standing.elements if isinstance(one, Material) and one.key == "m2")
    assert tile.packs == 0


@pytest.mark.parametrize(
    "element",
    [
        Labour("callback", 0, 0, 60, 4_000, is_finished=True),
        Material("callback:m2", "callback", 0, 0, 1_000_000, 4_000, is_finished=True),
        Other("callback", 0, 4_000, is_finished=True),
    ],
)
def test_a_callback_is_a_loss_of_its_own(element):
    assert element.split == Split(callbacks=-4_000)


def test_a_correction_stays_with_its_callback_and_counts_in_its_place(installer, office_manager):
    margins.pay()
    callback = found(called_back(installer))
    spend(callback, office_manager, installer)
    first = HoursEntry.objects.get()
    second = daily.hours_log(
        act=act(callback, installer), person=installer, step="tile", minutes=60, supersedes=first
    )
    delivery = callback.entries.get(delivery__isnull=False).delivery
    daily.delivery_confirm_cost(key=uuid.uuid4(), delivery=delivery, cost_cents=3_500, by=office_manager)

    assert second.step == "callback"
    assert selectors.spent_on([callback])[callback.pk] == Spent(60, 4_000, 3_500, 4_500)
    daily.hours_log(act=act(callback, installer), person=installer, step="tile", minutes=0, supersedes=second)
    assert selectors.spent_on([callback])[callback.pk].minutes == 0
    assert [bool(row.hours) for row in selectors.entries_of(callback)] == [False, False]


def test_hours_of_a_callback_are_neither_repeated_nor_offered_next(installer, office_manager):
    margins.pay()
    callback = found(called_back(installer))
    services.callback_hours_log(callback=callback, act=act(callback, installer), person=installer, minutes=30)
    with pytest.raises(ValidationError, match="no earlier day"):
        daily.hours_repeat(
            key=uuid.uuid4(), job=callback.job, day=margins.DAY + datetime.timedelta(days=1), by=installer
        )


def test_the_same_hours_sent_twice_are_one_entry_of_one_callback(installer):
    margins.pay()
    callback = found(called_back(installer))
    key = uuid.uuid4()
    for _ in range(2):
        services.callback_hours_log(
            callback=callback, act=act(callback, installer, key=key), person=installer, minutes=30
        )
    other = services.callback_report(
        key=uuid.uuid4(),
        job=callback.job,
        by=office(),
        reported_on=margins.DAY,
        reported_by="Ada",
        text="Leak",
    )
    with pytest.raises(ValidationError, match="belongs to another callback"):
        services.callback_hours_log(
            callback=other, act=act(callback, installer, key=key), person=installer, minutes=30
        )
    assert CallbackEntry.objects.count() == HoursEntry.objects.count() == 1


def test_all_callbacks_by_cause(installer, office_manager):
    margins.pay()
    first = found(called_back(installer), "workmanship")
    services.callback_decide(key=uuid.uuid4(), callback=first, by=office_manager, is_covered=True)
    spend(first, office_manager, installer)
    found(called_back(installer), "workmanship")
    found(called_back(installer), "use")
    called_back(installer)

    rows = selectors.by_cause(selectors.callbacks_of(office_manager))

    assert [(row.cause, row.count, row.covered, row.spent.cents) for row in rows] == [
        ("workmanship", 2, 1, 19_500),
        ("use", 1, 0, 0),
        ("", 1, 0, 0),
    ]


def test_the_job_s_history_tells_of_it(installer, office_manager):
    callback = found(called_back(installer))
    services.callback_resolve(key=uuid.uuid4(), callback=callback, by=installer, text="Set again")
    told = history_of(callback.job)
    assert [one.what for one in told] == ["Callback 1 reported", "Callback 1 resolved"]
    assert told[0].note == "Tile by the drain sounds hollow"


def test_the_database_keeps_what_was_reported():
    callback = called_back()
    for change in (
        lambda: Callback.objects.filter(pk=callback.pk).update(text="Nothing"),
        lambda: Callback.objects.filter(pk=callback.pk).update(state="found"),
        lambda: Callback.objects.filter(pk=callback.pk).update(cause="gremlins"),
        lambda: CallbackEvent.objects.update(text="Another word"),
        lambda: CallbackEvent.objects.create(callback=callback, kind="resolved", by=office(), at=callback.at),
        lambda: CallbackEvent.objects.create(
            callback=callback, kind="found", text="x", by=office(), at=callback.at
        ),
        lambda: CallbackEvent.objects.create(callback=callback, kind="decided", by=office(), at=callback.at),
        lambda: CallbackEntry.objects.create(callback=callback),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


def post(client, name, callback, prefix="", **values):
    given = {"key": str(uuid.uuid4())} | values
    named = {f"{prefix}-{key}" if prefix else key: value for key, value in given.items()}
    return client.post(reverse(f"punchlist:{name}", args=[callback.job_id, callback.number]), named)


def test_the_pages_lead_from_a_report_to_its_end(client, installer, office_manager):
    margins.pay()
    callback = called_back(installer)
    client.force_login(office_manager)
    planned = {"visitor": installer.pk, "visit_on": "2026-06-03"}
    post(client, "callback-plan", callback, "plan", **planned)
    client.force_login(installer)
    none = post(client, "callback-found", callback, "found", text="x", day="2026-06-03")
    assert none.status_code == 200
    post(client, "callback-found", callback, "found", text="Hollow", day="2026-06-03", cause="workmanship")
    post(client, "callback-hours", callback, day="2026-06-03", minutes="1:30")
    own = client.get(callback.get_absolute_url()).content.decode()
    assert "1:30" in own
    assert "$" not in own
    client.force_login(office_manager)
    against = post(client, "callback-decide", callback, "decide", is_covered="no")
    assert "The terms say otherwise; say why you decide so." in against.content.decode()
    post(client, "callback-decide", callback, "decide", is_covered="yes")
    post(client, "callback-cost", callback, day="2026-06-03", what="Blade", amount_cents="12.50")
    post(client, "callback-delivery", callback, day="2026-06-03", material_key="m2", packs_millionths="1")
    post(client, "callback-resolve", callback, "resolve", text="Set again", day="2026-06-04")

    kept = Callback.objects.get()
    page = client.get(callback.get_absolute_url()).content.decode()
    assert (kept.state, kept.is_covered) == ("resolved", True)
    # 1.5 h of 40.00, a box of 30.00, 12.50.
    assert "102.50" in page
    assert "102.50" in client.get(reverse("punchlist:callbacks") + "?state=").content.decode()


def test_an_installer_sees_callbacks_of_their_jobs_without_cost(client, installer, other_installer):
    callback = found(called_back(installer))
    client.force_login(installer)
    page = client.get(reverse("punchlist:callbacks")).content.decode()
    assert "Tile by the drain" in page
    assert "$" not in page
    client.force_login(other_installer)
    assert "Tile by the drain" not in client.get(reverse("punchlist:callbacks")).content.decode()
    assert client.get(callback.get_absolute_url()).status_code == 404


@pytest.mark.parametrize("name", ["callbacks", "callbacks-of-job"])
def test_as_many_queries_for_two_callbacks_as_for_twenty(
    client, office_manager, installer, django_assert_max_num_queries, name
):
    margins.pay()
    client.force_login(office_manager)
    first = found(called_back(installer))
    counts = []
    for wanted in (2, 20):
        while Callback.objects.count() < wanted:
            one = called_back(installer) if name == "callbacks" else services.callback_report(
                key=uuid.uuid4(), job=first.job, by=office_manager, reported_on=margins.DAY,
                reported_by="Ada", text="Leak",
            )  # fmt: skip
            spend(one, office_manager, installer, minutes=6)
        arguments = [] if name == "callbacks" else [first.job_id]
        with django_assert_max_num_queries(14) as counted:
            assert client.get(reverse(f"punchlist:{name}", args=arguments)).status_code == 200
        counts.append(len(counted))
    assert counts[0] == counts[1]
