"""What may happen to an item of a punch list, by whom, and that it is kept."""

import datetime
import uuid

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from jobs.punchlist import selectors, services
from jobs.punchlist.models import PunchEvent, PunchItem, WaivedItem
from jobs.work.models import Stage
from jobs.work.services import job_move
from tests.jobs.margins import factories as margins
from tests.jobs.punchlist.factories import act, add, listed_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(installer, office_manager):
    return margins.job(installer, stage="punch")


def test_an_item_goes_from_open_over_mended_and_sent_back_to_accepted(job, installer, office_manager):
    item = add(job, "Hollow tile by the door", by=installer, owner=installer)
    act("mend", item, installer, note="Lifted and set again")
    act("reject", item, office_manager, reason="Still sounds hollow")
    act("mend", item, installer)
    act("accept", item, office_manager, customer="Ada Lowell")

    kept = PunchItem.objects.get(pk=item.pk)
    told = [(event.kind, event.by.username, event.note) for event in kept.events.all()]
    assert kept.state == "accepted"
    assert told == [
        ("opened", "installer", ""),
        ("mended", "installer", "Lifted and set again"),
        ("rejected", "office", "Still sounds hollow"),
        ("mended", "installer", ""),
        ("accepted", "office", ""),
    ]
    assert kept.events.last().customer == "Ada Lowell"


@pytest.mark.parametrize(
    ("state", "refused"),
    [
        ("open", ["accept", "reject"]),
        ("mended", ["mend"]),
        ("accepted", ["mend", "accept", "withdraw"]),
        ("withdrawn", ["mend", "accept", "reject", "withdraw"]),
    ],
)
def test_what_does_not_follow_from_a_state_is_refused_in_words(job, office_manager, state, refused):
    item = add(job)
    for name, values in {
        "open": [],
        "mended": [("mend", {})],
        "accepted": [("mend", {}), ("accept", {})],
        "withdrawn": [("withdraw", {"reason": "Twice on the list"})],
    }[state]:
        act(name, item, office_manager, **values)
    for name in refused:
        values = {"reason": "Because it is"} if name in {"reject", "withdraw"} else {}
        with pytest.raises(ValidationError, match="it cannot become"):
            act(name, item, office_manager, **values)
    assert PunchItem.objects.get().state == state


def test_an_installer_mends_and_adds_and_decides_nothing(job, installer, other_installer):
    item = add(job, by=installer, owner=installer)
    for name, values in [
        ("accept", {}),
        ("reject", {"reason": "Not good"}),
        ("withdraw", {"reason": "Not ours"}),
        ("assign", {"owner": installer, "due_on": None}),
    ]:
        with pytest.raises(PermissionDenied):
            act(name, item, installer, **values)
    with pytest.raises(ValidationError, match="The office says who else mends it"):
        add(job, by=installer, owner=other_installer)
    with pytest.raises(PermissionDenied):
        services.list_override(key=uuid.uuid4(), job=job, by=installer, reason="We want to go home")


def test_only_somebody_on_the_crew_or_of_the_office_is_given_an_item(job, other_installer, office_manager):
    with pytest.raises(ValidationError, match="is not on the crew of this job"):
        add(job, owner=other_installer)
    item = add(job)
    day = datetime.date(2026, 6, 9)
    act("assign", item, office_manager, owner=office_manager, due_on=day)
    kept = PunchItem.objects.get()
    assert (kept.owner, kept.due_on) == (office_manager, day)
    assert kept.events.last().due_on == day


@pytest.mark.parametrize("reason", ["", "  ", "no"])
def test_sending_back_needs_a_reason(job, office_manager, reason):
    item = add(job)
    act("mend", item, office_manager)
    with pytest.raises(ValidationError, match="Say why"):
        act("reject", item, office_manager, reason=reason)


def test_the_same_key_again_does_nothing_again(job, installer, office_manager):
    key = uuid.uuid4()
    first = services.item_add(key=key, job=job, text="Chip", by=installer)
    assert services.item_add(key=key, job=job, text="Chip", by=installer) == first
    # Typed into the form that was sent already: it is another item, and is not called stored.
    with pytest.raises(ValidationError, match="has this key already"):
        services.item_add(key=key, job=job, text="Grout missing", by=installer)
    mend = uuid.uuid4()
    for _ in range(2):
        services.item_mend(key=mend, item=PunchItem.objects.get(), by=installer)
    # Sent once more by a phone that still thinks the item is open.
    stale = PunchItem.objects.get()
    stale.state = "open"
    assert services.item_mend(key=mend, item=stale, by=installer).state == "mended"

    assert PunchItem.objects.count() == 1
    assert PunchEvent.objects.count() == 2
    with pytest.raises(ValidationError, match="Another act has this key already"):
        services.item_mend(key=mend, item=PunchItem.objects.get(), by=office_manager)
    with pytest.raises(ValidationError, match="Another act has this key already"):
        services.item_add(key=key, job=job, text="Chip", by=office_manager)


def test_who_acts_on_what_somebody_else_has_changed_is_told(job, office_manager, installer):
    item, stale = add(job), PunchItem.objects.get()
    act("mend", item, installer)
    with pytest.raises(ValidationError, match="Somebody else has changed this item"):
        act("withdraw", stale, office_manager, reason="Not ours")
    with pytest.raises(ValidationError, match="Somebody else has changed this item"):
        act("assign", stale, office_manager, owner=None, due_on=None)


def test_nothing_is_added_to_a_closed_job(job):
    for stage in ("complete", "cancelled"):
        type(job).objects.filter(pk=job.pk).update(stage=stage)
        with pytest.raises(ValidationError, match="The job is closed"):
            add(job)


def test_the_signed_list_accepts_every_mended_item_once(installer, office_manager):
    job, items = listed_job(installer, count=3)
    act("mend", items[1], installer)
    key = uuid.uuid4()
    with pytest.raises(ValidationError, match="Say who signed"):
        services.list_accept(key=key, job=job, by=office_manager, customer=" ")
    for _ in range(2):
        done = services.list_accept(key=key, job=job, by=office_manager, customer="Ada Lowell")
        assert {item.number for item in done} == {1, 2}

    states = dict(PunchItem.objects.values_list("number", "state"))
    assert states == {1: "accepted", 2: "accepted", 3: "open"}
    with pytest.raises(ValidationError, match="No item is mended"):
        services.list_accept(key=uuid.uuid4(), job=job, by=office_manager, customer="Ada Lowell")


def test_a_job_is_not_complete_while_items_are_not_accepted(installer, office_manager):
    job, items = listed_job(installer, count=2)
    with pytest.raises(ValidationError) as refused:
        job_move(job=job, stage=Stage.COMPLETE, by=office_manager)
    assert "2 items of the punch list are not accepted yet: numbers 1, 2." in refused.value.messages

    act("accept", items[0], office_manager)
    act("withdraw", items[1], office_manager, reason="The plumber's, not ours")
    assert selectors.hindrances(job, Stage.COMPLETE) == []
    # What is left are the checks of a plan that this job has not got.
    with pytest.raises(ValidationError) as still:
        job_move(job=job, stage=Stage.COMPLETE, by=office_manager)
    assert not any("punch list" in sentence for sentence in still.value.messages)


def test_an_override_lets_pass_what_was_open_then_and_not_what_is_wrong_later(installer, office_manager):
    job, items = listed_job(installer, count=2)
    with pytest.raises(ValidationError, match="Give the reason in a sentence"):
        services.list_override(key=uuid.uuid4(), job=job, by=office_manager, reason="Later")
    key = uuid.uuid4()
    for _ in range(2):
        services.list_override(key=key, job=job, by=office_manager, reason="The vanity top comes in July")
    assert WaivedItem.objects.count() == 2
    assert selectors.hindrances(job, Stage.COMPLETE) == []
    # Mending one is no new hindrance; finding it still wrong is, and so is a new item.
    act("mend", items[1], installer)
    assert selectors.hindrances(job, Stage.COMPLETE) == []
    act("reject", items[1], office_manager, reason="Still open")
    add(job, "Scratch on the tub")
    assert selectors.hindrances(job, Stage.COMPLETE) == [
        "2 items of the punch list are not accepted yet: numbers 2, 3."
    ]
    assert [one.number for one in selectors.standing_in_the_way(job)] == [2, 3]


def test_other_stages_do_not_mind_the_punch_list(installer):
    job, _items = listed_job(installer)
    assert selectors.hindrances(job, Stage.TILE) == []


def refused(change) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        change()


def test_the_database_keeps_what_was_said(job, office_manager):
    item = add(job)
    event = item.events.get()
    for change in (
        lambda: PunchItem.objects.filter(pk=item.pk).update(text="Nothing"),
        lambda: PunchItem.objects.filter(pk=item.pk).update(at=timezone.now()),
        lambda: PunchEvent.objects.filter(pk=event.pk).update(note="Another word"),
        lambda: PunchItem.objects.filter(pk=item.pk).update(state="gone"),
    ):
        refused(change)
    rows = [
        {"text": ""},
        {"number": item.number},
        {"across": 5, "down": None, "room_key": "r"},
        {"across": 5, "down": 5, "room_key": ""},
        {"across": 10_001, "down": 5, "room_key": "r"},
    ]
    for values in rows:
        given = {"number": 9, "text": "x", "job": job, "by": office_manager, "at": timezone.now()} | values
        refused(lambda given=given: PunchItem.objects.create(key=uuid.uuid4(), **given))
    for values in (
        {"kind": "rejected"},
        {"kind": "lost"},
        {"kind": "mended", "customer": "Ada"},
        {"kind": "mended", "due_on": datetime.date(2026, 6, 1)},
    ):
        given = {"item": item, "by": office_manager, "at": timezone.now()} | values
        refused(lambda given=given: PunchEvent.objects.create(**given))
