"""Acts from phones: each once, in order, corrected for the phone's clock; what is refused is kept."""

import datetime
import json
import uuid

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.crew.models import LookAt, Mark, PhoneAct
from jobs.crew.selectors import marks_of, places_of_batches, work_of
from jobs.inspections.models import CheckRecord, PlannedCheck
from jobs.inspections.selectors import check_state
from jobs.inspections.services import corrective_action
from jobs.work.daily.listeners import purchase_list
from jobs.work.models import CrewMember, DayNote, DeliveryEntry, HoursEntry, Job
from tests.estimates.quotes.changes.factories import job_with_a_room_added, measured_again, sign_measured
from tests.jobs.inspections.factories import HOUR, INCH, check, pass_all, planned_job, record
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db


def told(job, kind, /, *, key=None, ago=datetime.timedelta(), **fields):
    extra = {
        name: fields.pop(name) for name in ("seen", "stage", "mends", "offset", "after") if name in fields
    }
    made = timezone.now() - ago
    return {
        "key": str(key or uuid.uuid4()),
        "job": job.pk,
        "kind": kind,
        "fields": fields,
        "made_at": made.timestamp() * 1000,
        **extra,
    }


def send(person, *acts, now=None, offset=0, as_person=None):
    client = Client()
    client.force_login(person)
    body = {
        "person": as_person or person.pk,
        "now": (now or timezone.now()).timestamp() * 1000,
        "offset": offset,
        "acts": acts,
    }
    return client.post(reverse("crew:acts"), json.dumps(body), content_type="application/json")


def outcomes(answer):
    assert answer.status_code == 200, answer.content
    return [(one["outcome"], one["repeat"]) for one in answer.json()["results"]]


def test_an_act_sent_three_times_is_done_once_and_answered_alike(installer):
    job = sold_job(crew=(installer,))
    act = told(job, "hours", step="preparation", minutes="7:30", note="")

    answers = [outcomes(send(installer, act)) for _ in range(3)]

    assert answers == [[("done", False)], [("done", True)], [("done", True)]]
    assert HoursEntry.objects.get().minutes == 450
    assert PhoneAct.objects.count() == 1


def test_every_kind_of_the_log_is_taken_in_order(installer):
    job = sold_job(crew=(installer,))
    pass_all(job, installer, "substrate accepted")
    yesterday = (timezone.localdate() - datetime.timedelta(days=1)).isoformat()

    answer = send(
        installer,
        told(job, "hours", step="preparation", minutes="8:00", day=yesterday),
        told(job, "repeat"),
        told(
            job,
            "delivery",
            material_key=purchase_list(job)[0].key,
            packs_millionths="2",
            lot_numbers="L-7, L-8",
        ),
        told(job, "note", kind="weather", text="Dry, 64 °F"),
        told(job, "progress", step="preparation", done_basis_points="50"),
        told(job, "timer", ref="waterproofing", state="running"),
        told(job, "timed-hours", step="waterproofing", minutes="1:05"),
        told(job, "cut", ref="A", state="done"),
        told(job, "batch", ref="1", state="spread"),
    )

    assert outcomes(answer) == [("done", False)] * 9
    assert sorted(HoursEntry.objects.values_list("minutes", flat=True)) == [65, 480, 480]
    assert DeliveryEntry.objects.get().lot_numbers == "L-7, L-8"
    assert DayNote.objects.get().text == "Dry, 64 °F"
    states = list(Mark.objects.order_by("pk").values_list("subject", "state"))
    assert states == [("timer", "running"), ("timer", "stopped"), ("cut", "done"), ("batch", "spread")]


def test_a_phone_whose_clock_is_wrong_is_corrected_by_what_it_measured(installer, time_machine):
    now = datetime.datetime(2026, 6, 12, 15, 0, tzinfo=datetime.UTC)
    job = planned_job(crew=(installer,))
    time_machine.move_to(now, tick=False)
    # The phone is 3 h 17 min behind; somebody looked 20 min ago by any clock.
    behind = datetime.timedelta(hours=3, minutes=17)
    act = told(
        job,
        "check",
        check=str(check(job, "sound").pk),
        answer="yes",
        ago=behind + datetime.timedelta(minutes=20),
    )

    send(installer, act, now=now - behind, offset=behind.total_seconds() * 1000)

    found = CheckRecord.objects.get()
    assert found.observed_at == datetime.datetime(2026, 6, 12, 14, 40, tzinfo=datetime.UTC)
    assert PhoneAct.objects.get().offset_ms == 11_820_000


def test_an_offset_that_its_own_message_belies_is_not_believed(installer, time_machine):
    now = datetime.datetime(2026, 6, 12, 15, 0, tzinfo=datetime.UTC)
    job = planned_job(crew=(installer,))
    time_machine.move_to(now, tick=False)

    send(installer, told(job, "check", check=str(check(job, "sound").pk), answer="yes"), offset=-(10**8))

    assert CheckRecord.objects.get().observed_at == now


def test_a_refused_act_is_kept_with_its_reason_and_the_office_is_told(installer, office_manager):
    job = sold_job(crew=(installer,))
    act = told(job, "hours", step="preparation", minutes="nine hours")

    first, again = send(installer, act), send(installer, act)

    assert outcomes(first) == [("refused", False)]
    assert outcomes(again) == [("refused", True)]
    assert "nine hours" in first.json()["results"][0]["messages"][0]
    assert not HoursEntry.objects.exists()
    kept = PhoneAct.objects.get()
    assert kept.fields["minutes"] == "nine hours"
    client = Client()
    client.force_login(office_manager)
    assert "was refused" in client.get("/").content.decode()

    mended = told(job, "hours", step="preparation", minutes="9:00", mends=act["key"])
    assert outcomes(send(installer, mended)) == [("done", False)]

    assert LookAt.objects.get().seen_by == installer
    assert "was refused" not in client.get("/").content.decode()


def test_a_refused_act_does_not_hold_up_the_next(installer):
    job = sold_job(crew=(installer,))

    answer = send(
        installer,
        told(job, "cut", ref="no such piece", state="done"),
        {"key": str(uuid.uuid4()), "job": "x"},
        told(job, "no such kind"),
        told(job, "cut", ref="A", state="done"),
    )

    assert [outcome for outcome, _repeat in outcomes(answer)] == ["refused", "refused", "refused", "done"]


def test_another_person_cannot_send_what_somebody_else_entered(installer, other_installer):
    job = sold_job(crew=(installer, other_installer))
    act = told(job, "hours", step="preparation", minutes="2:00")

    answer = send(other_installer, act, as_person=installer.pk)

    assert (answer.status_code, answer.json()["error"]) == (409, "other-person")
    assert not PhoneAct.objects.exists()
    send(installer, act)
    assert outcomes(send(other_installer, act)) == [("refused", True)]
    assert HoursEntry.objects.get().person == installer


def test_two_people_on_one_piece_keep_both_and_the_office_is_told(installer, other_installer):
    job = sold_job(crew=(installer, other_installer))
    send(installer, told(job, "cut", ref="A", state="done"))

    send(other_installer, told(job, "cut", ref="A", state="done"))

    assert Mark.objects.count() == 2
    row = LookAt.objects.get()
    assert (row.why, row.other, row.act.person) == ("both", installer, other_installer)


def test_whoever_had_seen_the_other_s_tick_is_not_reported(installer, other_installer):
    job = sold_job(crew=(installer, other_installer))
    send(installer, told(job, "cut", ref="A", state="done"))

    send(other_installer, told(job, "cut", ref="A", state="undone", seen=str(Mark.objects.get().pk)))

    assert not LookAt.objects.exists()


def test_two_people_doing_one_check_keep_both(installer, other_installer):
    job = planned_job(crew=(installer, other_installer))
    sound = check(job, "sound")
    send(installer, told(job, "check", check=str(sound.pk), answer="yes"))

    send(other_installer, told(job, "check", check=str(sound.pk), answer="yes"))

    assert CheckRecord.objects.filter(planned=sound).count() == 2
    assert LookAt.objects.get().why == "both"


def test_a_pass_seen_before_the_check_failed_closes_no_non_conformance(
    installer, other_installer, office_manager
):
    """It waited on a phone while somebody else found the fault and said what was done about it."""
    job = planned_job(crew=(installer, other_installer))
    laps = check(job, "side_laps")
    failed = record(laps, office_manager, reading=INCH, observed_at=timezone.now() - 2 * HOUR)
    corrective_action(
        non_conformance=failed.non_conformance, by=office_manager, key=uuid.uuid4(), text="Patched it"
    )
    kept = told(job, "check", check=str(laps.pk), reading='2 1/2"', instrument="steel tape", ago=5 * HOUR)

    answer = send(other_installer, kept)

    assert outcomes(answer) == [("refused", False)]
    assert "Look at it again" in answer.json()["results"][0]["messages"][0]
    assert check_state(laps).open is not None
    assert LookAt.objects.get().why == "refused"
    later = told(job, "check", check=str(laps.pk), reading='2 1/2"', instrument="steel tape", ago=HOUR)
    assert outcomes(send(installer, later)) == [("done", False)]
    assert check_state(laps).passed


def test_an_older_word_on_when_the_membrane_was_laid_shortens_no_cure(installer, other_installer):
    job = planned_job(crew=(installer, other_installer))
    laid = PlannedCheck.objects.filter(plan__job=job, kind="laid").order_by("position")[0]
    record(laid, installer, laid_at=timezone.now() - HOUR)
    before = check_state(laid).cured_at

    answer = send(
        other_installer, told(job, "check", check=str(laid.pk), laid_at="now", is_cold="no", ago=30 * HOUR)
    )

    assert outcomes(answer) == [("refused", False)]
    assert check_state(laid).cured_at == before
    assert LookAt.objects.get().why == "refused"


def test_pieces_and_batches_of_a_room_that_a_signed_change_added_are_ticked_too(installer):
    job = job_with_a_room_added()
    CrewMember.objects.create(job=job, person=installer)
    pass_all(job, installer, "substrate accepted")
    sold = job.quote.snapshot["work"]["takeoff"]
    known = {one["piece_key"] for roll in sold["cut_plan"]["rolls"] for one in roll["placed"]}
    now = work_of(job)
    pieces = [one["key"] for roll in now["rolls"] for one in roll["pieces"] if one["key"] not in known]
    assert pieces
    last = max(places_of_batches(job), key=int)
    assert int(last) > len(sold["batches"])

    answer = send(
        installer,
        *(told(job, "cut", ref=key, state="done") for key in pieces),
        told(job, "batch", ref=last, state="spread"),
    )

    assert outcomes(answer) == [("done", False)] * (len(pieces) + 1)


def test_a_tick_does_not_pass_to_a_piece_of_another_size_with_the_same_letter(installer):
    """The room is measured again, 200 in long and not 66: its second sheet is cut wider than before."""
    job = sold_job(crew=(installer,))
    pass_all(job, installer, "substrate accepted")
    send(installer, *(told(job, "cut", ref=ref, state="done") for ref in ("A", "B")))
    send(installer, told(job, "batch", ref="1", state="spread"))
    assert set(marks_of(job)) == {("cut", "A"), ("cut", "B"), ("batch", "1")}

    room = job.quote.estimate.estimate_rooms.get().room
    sign_measured(job, measured_again(room, long=200))

    # By the two cut plans: A is 914.4 by 1524 mm in both, B 812.8 and then 914.4 mm across.
    job = Job.objects.get(pk=job.pk)
    assert set(marks_of(job)) == {("cut", "A")}
    send(installer, told(job, "cut", ref="B", state="done"))
    assert set(marks_of(job)) == {("cut", "A"), ("cut", "B")}


def test_who_was_taken_off_the_job_is_refused_and_nothing_is_lost(installer):
    job = sold_job()

    answer = send(installer, told(job, "hours", step="tile", minutes="4:00"))

    assert outcomes(answer) == [("refused", False)]
    assert PhoneAct.objects.get().fields["minutes"] == "4:00"
    assert LookAt.objects.get().why == "off_crew"


def test_work_on_a_job_that_was_cancelled_meanwhile_is_kept_and_reported(installer):
    job = sold_job(crew=(installer,))
    Job.objects.filter(pk=job.pk).update(stage="cancelled")

    answer = send(installer, told(job, "hours", step="preparation", minutes="4:00", stage="scheduled"))

    assert outcomes(answer) == [("done", False)]
    assert LookAt.objects.get().why == "changed"


def test_tile_waits_for_the_membrane_check_and_its_cure(installer, time_machine):
    start = datetime.datetime(2026, 6, 12, 15, 0, tzinfo=datetime.UTC)
    time_machine.move_to(start, tick=False)
    job = planned_job(crew=(installer,), stage="membrane")
    hours = {"step": "tile", "minutes": "1:00"}

    def tried():
        return send(installer, told(job, "hours", **hours)).json()["results"][0]

    first = tried()
    assert first["outcome"] == "refused"
    assert "still to be checked" in " ".join(first["messages"])

    pass_all(job, installer, "substrate accepted", "membrane accepted", skip=("laid",))
    flood = check(job, "flood")
    for key in ("floor", "walls"):
        record(check(job, "laid", key), installer, laid_at=start)
    start_act = told(job, "flood-start", check=str(flood.pk), level="2", instrument="rule")
    assert outcomes(send(installer, start_act)) == [("refused", False)]
    time_machine.move_to(start + 24 * HOUR, tick=False)
    start_act = told(job, "flood-start", check=str(flood.pk), level="2", instrument="rule")
    assert outcomes(send(installer, start_act)) == [("done", False)]
    assert tried()["outcome"] == "refused"
    time_machine.move_to(start + 48 * HOUR, tick=False)
    end = told(job, "flood-end", check=str(flood.pk), level="2", leak_seen="no", instrument="rule")
    assert outcomes(send(installer, end)) == [("done", False)]

    assert tried()["outcome"] == "done"
    assert flood.records.get().passed


def test_the_time_somebody_looked_decides_not_the_time_it_was_sent(installer, time_machine):
    """A level read 23 h after the start and sent a day later ended early all the same."""
    start = datetime.datetime(2026, 6, 12, 15, 0, tzinfo=datetime.UTC)
    time_machine.move_to(start, tick=False)
    job = planned_job(crew=(installer,), stage="membrane")
    pass_all(job, installer, "substrate accepted", "membrane accepted")
    flood = check(job, "flood")
    send(installer, told(job, "flood-start", check=str(flood.pk), level="2", instrument="rule"))
    time_machine.move_to(start + 47 * HOUR, tick=False)

    end = told(
        job, "flood-end", check=str(flood.pk), level="2", leak_seen="no", instrument="rule", ago=24 * HOUR
    )
    send(installer, end)

    found = flood.records.get()
    assert not found.passed
    assert found.stood_seconds == 23 * 3600


def test_a_failed_check_is_answered_by_an_action_and_looked_at_again(installer):
    job = planned_job(crew=(installer,))
    record(check(job, "side_laps"), installer, reading=INCH)
    pk = str(check(job, "side_laps").pk)

    answer = send(
        installer,
        told(job, "action", check=pk, text="Sheet lifted, a wider strip laid over the seam."),
        told(job, "check", check=pk, reading="2 1/4", instrument="steel tape"),
    )

    assert outcomes(answer) == [("done", False), ("done", False)]
    assert CheckRecord.objects.order_by("-pk")[0].closes


@pytest.mark.parametrize(
    "body",
    ["", "[]", "{}", '{"acts": {}}', '{"acts": [1], "now": 1}', '{"acts": [{"key": "x"}], "now": 1}',
     '{"acts": [], "now": "soon"}', '{"acts": [], "now": 1e400}', "[" * 5000],
)  # fmt: skip
def test_a_message_without_shape_is_refused_in_words(installer, body):
    client = Client()
    client.force_login(installer)

    answer = client.post(reverse("crew:acts"), body, content_type="application/json")

    assert (answer.status_code, answer.json()["error"]) == (400, "shape")


def test_the_pulse_tells_a_stranger_nothing_but_the_time(client, installer):
    assert client.get(reverse("crew:pulse")).json()["person"] is None
    client.force_login(installer)
    answer = client.get(reverse("crew:pulse")).json()
    assert answer["person"] == installer.pk
    assert abs(answer["now"] - timezone.now().timestamp() * 1000) < 5000


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"subject": "cut", "state": "spread"}, "mark_state_fits_its_subject"),
        ({"subject": "timer", "state": "done"}, "mark_state_fits_its_subject"),
        ({"subject": "cut", "state": "done", "ref": ""}, "mark_says_of_what"),
    ],
)
def test_the_database_refuses_a_mark_that_cannot_be(installer, values, name):
    job = sold_job(crew=(installer,))
    send(installer, told(job, "hours", step="preparation", minutes="1:00"))
    filled = {"act": PhoneAct.objects.get(), "job": job, "ref": "A", "by": installer, "at": timezone.now()}

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        Mark.objects.create(**(filled | values))


def test_the_database_keeps_a_key_once_and_a_refusal_with_its_reason(installer):
    job = sold_job(crew=(installer,))
    send(installer, told(job, "hours", step="preparation", minutes="1:00"))
    row = PhoneAct.objects.get()
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)
    row.key, row.outcome = uuid.uuid4(), "refused"
    with pytest.raises(IntegrityError, match="phone_act_done_or_says_why"), transaction.atomic():
        row.save(force_insert=True)


def test_yesterdays_crew_is_not_repeated_onto_tile_that_waits(installer):
    """The moment the phone was tapped decides, as for typed hours."""
    now = timezone.now()
    job = planned_job(crew=(installer,), stage="membrane")
    HoursEntry.objects.create(
        key=uuid.uuid4(),
        job=job,
        day=timezone.localdate() - datetime.timedelta(days=2),
        by=installer,
        at=now,
        person=installer,
        step="tile",
        minutes=60,
    )

    answer = send(installer, told(job, "repeat"))

    assert outcomes(answer) == [("refused", False)]
    assert "still to be checked" in " ".join(answer.json()["results"][0]["messages"])
    assert HoursEntry.objects.count() == 1


DAY = 24 * HOUR


@pytest.mark.parametrize(
    ("measured_before", "start_told", "end_told"),
    [
        # Right until somebody put the phone's clock a day on, ten minutes before the end; it stays so.
        (0 * HOUR, 0 * HOUR, DAY),
        # A day behind, as it was measured; the network sets it right when there is signal again.
        (DAY, -DAY, 0 * HOUR),
        # Since an empty battery two years behind, and still so when it is sent.
        (0 * HOUR, -15_000 * HOUR, -15_000 * HOUR),
    ],
    ids=["put on", "set right", "empty battery"],
)
def test_a_clock_set_between_two_acts_makes_no_flood_test_longer(
    installer, time_machine, measured_before, start_told, end_told
):
    """Both acts wait for signal; in truth the water stood for ten minutes."""
    now = datetime.datetime(2026, 6, 12, 15, 0, tzinfo=datetime.UTC)
    begun, minutes = now - HOUR, datetime.timedelta(minutes=10)
    time_machine.move_to(now, tick=False)
    job = planned_job(crew=(installer,), stage="membrane")
    pass_all(job, installer, "substrate accepted", "membrane accepted", skip=("laid",))
    for key in ("floor", "walls"):
        record(check(job, "laid", key), installer, laid_at=now - 4 * DAY)
    flood, known = check(job, "flood"), (now - 2 * HOUR).timestamp() * 1000
    clock = {"offset": measured_before.total_seconds() * 1000, "after": known}
    about = {"check": str(flood.pk), "level": "2", "instrument": "rule"}

    answer = send(
        installer,
        told(job, "flood-start", ago=HOUR - start_told, **clock, **about),
        told(job, "flood-end", ago=HOUR - minutes - end_told, leak_seen="no", **clock, **about),
        now=now + end_told,
        offset=-end_told.total_seconds() * 1000,
    )

    assert PhoneAct.objects.count() == 2, answer.content
    assert not CheckRecord.objects.filter(planned=flood, passed=True).exists()
    start = flood.flood_starts.get()
    assert start.started_at >= begun
    assert all(one.stood_seconds <= HOUR.total_seconds() for one in flood.records.all())


@pytest.mark.parametrize("offset", ["soon", True, 1e300, -1e15, None, []])
def test_what_a_phone_says_of_its_clock_is_never_a_fault_of_ours(installer, offset):
    job = sold_job(crew=(installer,))
    answer = send(installer, told(job, "hours", step="preparation", minutes="1:00", offset=offset))

    assert outcomes(answer) == [("done", False)]


@pytest.mark.parametrize("now", [-62_135_596_800_000, None, 253_402_300_799_000])
@pytest.mark.parametrize(
    "wrong",
    [
        {"made_at": 253_402_300_799_000},
        {"made_at": -62_135_596_800_000},
        {"made_at": 253_402_300_799_000, "offset": 3.9e12},
        {"after": -62_135_596_800_000, "offset": 3.9e12},
        {"made_at": float("nan")},
    ],
)
def test_a_moment_outside_of_every_calendar_is_never_a_fault_of_ours(installer, now, wrong):
    """The years 1 and 9999: corrected by the clock's offset they would lie outside of what a date can say."""
    job = sold_job(crew=(installer,))
    moment = None if now is None else datetime.datetime.fromtimestamp(now / 1000, datetime.UTC)

    answer = send(installer, told(job, "hours", step="preparation", minutes="1:00") | wrong, now=moment)

    assert answer.status_code == (200 if now is None else 400)
    assert not HoursEntry.objects.exists()
