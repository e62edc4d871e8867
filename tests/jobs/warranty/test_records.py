"""When a record may be issued, what it freezes, and that it stays."""

import datetime
import json
import re
import uuid
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from contracting.documents.models import DocumentRequest
from contracting.documents.rendering import render_html
from contracting.staff.models import CompanyProfile
from jobs.inspections import services as inspections
from jobs.inspections.checklist import Step
from jobs.inspections.models import Hold
from jobs.inspections.selectors import checks_of
from jobs.warranty import selectors, services
from jobs.warranty.models import WarrantyRecord, WarrantyTerms
from jobs.warranty.terms import DEFAULT_YEARS, terms_on, years_later
from jobs.work import followers
from jobs.work.daily.services import Act, delivery_log, hours_log
from jobs.work.models import DeliveryEntry, Job, Stage
from jobs.work.services import job_move
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.changes.factories import job_with_a_room_added
from tests.jobs.inspections.factories import check, pass_all, record, shower
from tests.jobs.work.factories import job as really_sold_job

from .factories import DAY, deliver, inspected_job, issued, job_under_way, pass_flood_tests

pytestmark = pytest.mark.django_db


def issue(job, by, at=None):
    return services.record_issue(job=job, by=by, at=at or timezone.now())


# --- When -------------------------------------------------------------------------------------------------


def test_a_job_whose_checks_have_passed_gets_its_record_and_is_complete(office_manager):
    job = inspected_job()

    made = issue(job, office_manager)

    assert made.sequence == 1
    assert made.previous_sha256 == ""
    assert made.number.startswith("W-")
    assert made.document.kind == "warranty-record"
    assert made.document.audience == "customer"
    assert made.document.snapshot_sha256 == made.sha256 == services.content_sha256(made.snapshot)
    assert Job.objects.get(pk=job.pk).stage == Stage.COMPLETE


def test_pressing_again_gives_the_same_record(office_manager, owner):
    job = inspected_job()

    first, second = issue(job, office_manager), issue(job, owner)

    assert first.pk == second.pk
    assert (
        WarrantyRecord.objects.count() == DocumentRequest.objects.filter(kind="warranty-record").count() == 1
    )


def test_a_record_needs_the_final_check(office_manager):
    job = inspected_job(skip=("final",))

    with pytest.raises(ValidationError) as refused:
        issue(job, office_manager)

    assert "Final check" in refused.value.messages[0]
    assert not WarrantyRecord.objects.exists()
    assert not DocumentRequest.objects.exists()
    assert Job.objects.get(pk=job.pk).stage == Stage.PUNCH


def test_an_overridden_final_check_is_not_a_passed_one(office_manager):
    job = inspected_job(skip=("final",))
    inspections.hold_override(
        job=job,
        step=Step.HAND_OVER,
        reason="The customer is away for a month.",
        by=office_manager,
        key=uuid.uuid4(),
    )

    with pytest.raises(ValidationError, match="The final check was overridden"):
        issue(job, office_manager)


def test_an_overridden_check_before_it_lets_the_record_go_and_shows_in_it(office_manager):
    job, by = job_under_way(), UserFactory.create()
    pass_all(job, by, Hold.SUBSTRATE, Hold.MEMBRANE, skip=("side_laps",))
    pass_flood_tests(job, by)
    inspections.hold_override(
        job=job,
        step=Step.TILE,
        reason="Laps seen by the builder's inspector.",
        by=office_manager,
        key=uuid.uuid4(),
    )
    pass_all(job, by, Hold.COVERAGE, Hold.JOINTS, Hold.FINAL)

    content = issue(job, office_manager).snapshot

    [override] = content["inspection"]["overrides"]
    assert override["reason"] == "Laps seen by the builder's inspector."
    assert override["by"] == str(office_manager)
    assert content["inspection"]["passed"] == content["inspection"]["count"] - 1


def test_an_open_non_conformance_stands_in_the_way(office_manager, installer):
    job = inspected_job(skip=("final",))
    record(check(job, "final"), installer, answer=False, note="Haze on the grout.")

    with pytest.raises(ValidationError, match="non-conformance"):
        issue(job, office_manager)


def test_a_job_before_its_punch_list_is_told_where_it_is(office_manager):
    job = inspected_job(stage=Stage.TILE)

    with pytest.raises(ValidationError, match="tile and grout"):
        issue(job, office_manager)


def test_what_another_part_of_the_house_puts_in_the_way_counts_too(office_manager, monkeypatch):
    job = inspected_job()
    monkeypatch.setattr(
        followers, "_hindrances", [lambda job, stage: ["Two items of the punch list are open."]]
    )

    with pytest.raises(ValidationError, match="Two items"):
        issue(job, office_manager)


def test_a_company_without_a_name_issues_nothing(office_manager):
    job = inspected_job()
    CompanyProfile.objects.update(name="")

    with pytest.raises(ValidationError, match="no name"):
        issue(job, office_manager)


def test_an_installer_issues_nothing(installer):
    with pytest.raises(PermissionDenied):
        issue(inspected_job(crew=(installer,)), installer)


def test_no_record_is_dated_before_the_last(office_manager):
    issued()
    job = inspected_job(number=4002, is_measured=False)

    with pytest.raises(ValidationError, match="no record is dated before it"):
        issue(job, office_manager, timezone.now() - datetime.timedelta(hours=1))


def test_whoever_was_overtaken_at_the_lock_is_dated_like_the_one_who_was_first(office_manager):
    first = issued()
    job = inspected_job(number=4002, is_measured=False)

    second = issue(job, office_manager, first.issued_at - datetime.timedelta(seconds=3))

    assert second.issued_at == first.issued_at


# --- The chain --------------------------------------------------------------------------------------------


def test_each_record_carries_the_hash_of_the_one_before():
    first, second, third = issued(4001), issued(4002), issued(4003)

    assert [one.sequence for one in (first, second, third)] == [1, 2, 3]
    assert second.previous_sha256 == first.sha256 == second.snapshot["record"]["previous_sha256"]
    assert third.previous_sha256 == second.sha256


def test_a_record_that_is_replaced_stays_and_says_so(office_manager):
    old = issued()

    new = services.record_replace(
        record=old, reason="The lot of the membrane was wrong.", by=office_manager, at=timezone.now()
    )

    assert WarrantyRecord.objects.get(pk=old.pk).is_superseded
    assert new.supersedes_id == old.pk
    assert new.snapshot["record"]["supersedes"] == old.number
    assert selectors.standing_record(old.job).pk == new.pk
    with pytest.raises(ValidationError, match="replaced already"):
        services.record_replace(record=old, reason="Once more, please.", by=office_manager, at=timezone.now())


def test_a_replacement_says_why(office_manager):
    with pytest.raises(ValidationError, match="reason in a sentence"):
        services.record_replace(record=issued(), reason=" oh ", by=office_manager, at=timezone.now())


def test_codes_cannot_be_guessed():
    codes = {services.new_code() for _number in range(2000)}

    assert len(codes) == 2000
    # 31 signs, 20 places: 31^20 is more than 2^99.
    assert len(services.CODE_SIGNS) == 31
    assert all(re.fullmatch("[2-9A-HJKMNP-Z]{20}", code) for code in codes)


# --- What is frozen ---------------------------------------------------------------------------------------


def test_a_record_holds_what_was_specified_used_found_and_promised(office_manager, installer):
    job = inspected_job(crew=(installer,))
    deliver(job, "m1", "LOT 4471-B", office_manager, 2)
    deliver(job, "m1", "LOT 4480", office_manager)
    hours_log(
        act=Act(uuid.uuid4(), job, DAY, office_manager), person=installer, step="waterproofing", minutes=300
    )

    content = issue(job, office_manager).snapshot

    assert content["customer"] == {"name": "Marigold Ferry"}
    assert [one["name"] for one in content["specification"][0]["surfaces"]] == ["Floor", "Walls"]
    assert [one["shows"] for one in content["plans"][0]["drawings"]] == ["membrane", "tiled"]
    membrane = content["products"][0]
    assert membrane["lots"] == ["LOT 4471-B", "LOT 4480"]
    assert membrane["received_packs"] == "3"
    assert content["people"] == [
        {"name": "Ivo", "steps": ["waterproofing"], "first_day": "2026-06-01", "last_day": "2026-06-01"}
    ]
    assert content["warranty"]["years"] == DEFAULT_YEARS
    assert content["warranty"]["terms"]
    assert content["warranty"]["care"]
    assert content["cautions"][0]["source"] == "29 CFR 1926.1153"
    assert content["job"]["completed_on"] == content["warranty"]["starts_on"]


def test_readings_stand_with_limit_and_instrument(office_manager):
    content = issued(is_measured=True).snapshot

    laps = next(one for one in content["readings"] if one["check"] == "side_laps")
    # 2 in, the least a side lap may be, in mm (common practice, no source).
    assert laps["least"] == laps["reading"] == "50.8000"
    assert laps["unit"] == "mm"
    assert laps["instrument"] == "steel tape"
    assert laps["passed"] is True


def test_a_flood_test_stands_with_its_levels_and_its_time():
    [test] = issued(is_measured=True).snapshot["flood_tests"]

    assert (test["start_level"], test["end_level"]) == ("3″", "3″")
    assert (test["stood_seconds"], test["stands_seconds"]) == (25 * 3600, 24 * 3600)
    assert test["leak_seen"] is False
    assert test["instrument"] == "steel rule"
    assert test["passed"] is True


def test_a_delivery_that_was_corrected_counts_as_corrected(office_manager):
    job = inspected_job()
    deliver(job, "m1", "WRONG", office_manager, 2)
    delivery_log(
        act=Act(uuid.uuid4(), job, DAY, office_manager),
        material_key="m1",
        packs_millionths=1_000_000,
        lot_numbers="RIGHT",
        supersedes=DeliveryEntry.objects.get(),
    )

    membrane = issue(job, office_manager).snapshot["products"][0]

    assert (membrane["lots"], membrane["received_packs"]) == (["RIGHT"], "1")


def test_there_is_no_money_anywhere_in_a_record(office_manager):
    job = inspected_job()
    deliver(job, "m1", "LOT 1", office_manager)

    content = issue(job, office_manager).snapshot

    text = json.dumps(content, ensure_ascii=False)
    # Price, cost and full cost of the quote, and what the delivery cost, as they stand in the database.
    for cents in ("987654", "123456", "234567", "543210", "9876.54", "5432.10"):
        assert cents not in text
    names = list(_names(content))
    assert "received_packs" in names
    assert not [name for name in names if re.search("cents|price|cost|pay|margin|total|currency", name)]
    assert not re.search(r"[$€£]|USD", text)


def _names(value):
    if isinstance(value, dict):
        for name, one in value.items():
            yield name
            yield from _names(one)
    elif isinstance(value, list):
        for one in value:
            yield from _names(one)


def test_a_job_of_a_really_issued_quote_gets_its_record(office_manager, installer):
    job = really_sold_job(by=office_manager)
    Job.objects.filter(pk=job.pk).update(stage=Stage.PUNCH, starts_on=DAY)
    pass_all(job, installer, Hold.SUBSTRATE, Hold.MEMBRANE)
    pass_flood_tests(job, installer)
    pass_all(job, installer, Hold.COVERAGE, Hold.JOINTS, Hold.FINAL)

    content = issue(job, office_manager).snapshot

    assert content["specification"][0]["surfaces"][0]["tile"] == "Usual tile"
    assert content["plans"][0]["drawings"][0]["svg"].startswith("<svg")
    assert {one["role"] for one in content["products"]} >= {"membrane", "bonding agent", "tile"}
    assert not [name for name in _names(content) if re.search("cents|price|cost|margin", name)]


def test_a_record_shows_the_rooms_that_a_signed_change_added(office_manager, installer):
    job = job_with_a_room_added(by=office_manager)
    Job.objects.filter(pk=job.pk).update(stage=Stage.PUNCH, starts_on=DAY)
    pass_all(job, installer, Hold.SUBSTRATE, Hold.MEMBRANE)
    pass_flood_tests(job, installer)
    pass_all(job, installer, Hold.COVERAGE, Hold.JOINTS, Hold.FINAL)

    content = issue(job, office_manager).snapshot

    first, second = content["specification"]
    assert (first["name"], second["name"]) == ("Bath 1", "Second bath")
    # Of the same size and made of the same, so the second room reads as the quote printed the first.
    assert first["surfaces"] == second["surfaces"] == job.quote.snapshot["paper"]["rooms"][0]["surfaces"]
    assert [room["room"] for room in content["plans"]] == ["Bath 1", "Second bath"]
    tile = next(one for one in content["products"] if one["role"] == "tile")
    sold = next(one for one in job.quote.snapshot["work"]["materials"] if one["role"] == "tile")
    assert int(tile["planned_packs"]) > int(sold["packs"])
    [change] = content["changes"]
    assert change["lines"] == [{"adds": False, "text": "No niche"}]
    assert not [name for name in _names(content) if re.search("cents|price|cost|margin", name)]
    html = render_html("warranty-record", content)
    assert "Second bath" in html
    assert "No niche" in html


def test_what_is_recorded_later_does_not_change_a_record(office_manager):
    made = issued()
    before = json.dumps(made.snapshot, sort_keys=True)

    CompanyProfile.objects.update(name="Another Name")
    deliver(made.job, "m1", "LATER", office_manager)

    assert json.dumps(WarrantyRecord.objects.get(pk=made.pk).snapshot, sort_keys=True) == before


# --- Terms ------------------------------------------------------------------------------------------------


def test_the_newest_terms_that_have_started_hold(owner):
    today = timezone.localdate()
    for days, years in ((-400, 1), (-10, 5), (10, 9)):
        services.terms_save(
            starts_on=today + datetime.timedelta(days=days), years=years, terms="T", care="C", by=owner
        )

    assert terms_on(today).years == 5
    assert issued().snapshot["warranty"]["years"] == 5


def test_terms_start_with_the_day_of_the_site(owner, office_manager):
    """Half past eleven on New Year's Eve in Chicago is the next year in Greenwich."""
    job = inspected_job(is_measured=False)
    for day, years in ((datetime.date(2026, 1, 1), 3), (datetime.date(2027, 1, 1), 9)):
        services.terms_save(starts_on=day, years=years, terms="T", care="C", by=owner)
    moment = datetime.datetime(2026, 12, 31, 23, 30, tzinfo=ZoneInfo("America/Chicago"))

    record = services.record_issue(job=job, by=office_manager, at=moment)

    assert record.snapshot["warranty"]["years"] == 3


def test_terms_of_the_same_day_take_the_place_of_the_others(owner):
    for years in (1, 3):
        services.terms_save(starts_on=DAY, years=years, terms="T", care="C", by=owner)

    assert WarrantyTerms.objects.get().years == 3


def test_only_the_owner_sets_terms(office_manager):
    with pytest.raises(PermissionDenied):
        services.terms_save(starts_on=DAY, years=1, terms="T", care="C", by=office_manager)


@pytest.mark.parametrize("values", [{"years": 0}, {"years": 51}, {"terms": " "}, {"care": ""}])
def test_terms_that_say_nothing_are_refused(owner, values):
    good = {"starts_on": DAY, "years": 2, "terms": "T", "care": "C"}

    with pytest.raises(ValidationError):
        services.terms_save(by=owner, **good | values)


def test_a_warranty_that_starts_on_a_leap_day_ends_on_the_28th():
    assert years_later(datetime.date(2028, 2, 29), 1) == datetime.date(2029, 2, 28)
    assert years_later(datetime.date(2028, 2, 29), 4) == datetime.date(2032, 2, 29)


# --- The database keeps the promise -----------------------------------------------------------------------


@pytest.fixture
def guarded(db):
    """The guards of the migration, which the tests' SQLite lets go of so that it can be emptied."""
    from importlib import import_module

    migration = import_module("jobs.warranty.migrations.0002_records_only_grow")
    editor = connection.SchemaEditorClass(connection)
    migration.KEPT.create(None, editor)
    migration.create_end(None, editor)


@pytest.mark.parametrize(
    "change", ["UPDATE warranty_warrantyrecord SET sha256 = 'x'", "DELETE FROM warranty_warrantyrecord"]
)
def test_the_database_refuses_to_change_or_remove_a_record(guarded, change):
    issued()

    with pytest.raises(DatabaseError, match="never changed or removed"), transaction.atomic():
        connection.cursor().execute(change)


@pytest.mark.parametrize(
    "values",
    [
        {"sequence": 3},
        {"previous_sha256": "0" * 64},
        {"issued_at": datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)},
    ],
    ids=["a gap", "another record before it", "dated back"],
)
def test_the_database_refuses_a_record_that_is_not_the_next(guarded, values):
    first = issued()
    job = inspected_job(number=4002, is_measured=False)

    with pytest.raises(DatabaseError, match="end of its chain"), transaction.atomic():
        WarrantyRecord.objects.create(**_row(first, job) | values)


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"job": "same"}, "warranty_first_record_once_a_job|job_id"),
        ({"reason": "why"}, "warranty_replacement_says_why"),
        ({"supersedes": "first"}, "warranty_replacement_says_why"),
        ({"code": ""}, "warranty_record_is_named"),
        ({"previous_sha256": ""}, "warranty_record_follows_another|end of its chain"),
    ],
)
def test_each_rule_holds_against_the_database_itself(values, name):
    first = issued()
    row = _row(first, inspected_job(number=4002, is_measured=False))
    special = {"same": first.job, "first": first}
    row |= {key: special.get(value, value) for key, value in values.items()}

    with pytest.raises((IntegrityError, DatabaseError), match=name), transaction.atomic():
        WarrantyRecord.objects.create(**row)


def _row(first, job):
    document = DocumentRequest.objects.create(
        kind="warranty-record", subject="x", snapshot={}, snapshot_sha256="1" * 64, audience="customer"
    )
    return {
        "job": job,
        "sequence": 2,
        "number": "W-9",
        "code": "C" * 20,
        "issued_at": timezone.now(),
        "issued_by": first.issued_by,
        "snapshot": {},
        "sha256": "1" * 64,
        "previous_sha256": first.sha256,
        "document": document,
    }


def test_a_job_that_was_opened_again_keeps_its_record(office_manager):
    made = issued()
    job = Job.objects.get(pk=made.job_id)

    job_move(job=job, stage=Stage.PUNCH, by=office_manager, note="A joint opened.")

    assert issue(job, office_manager).pk == made.pk


def test_hindrances_of_a_fresh_job_are_said_in_words():
    job = job_under_way(shower(), stage=Stage.MEMBRANE)

    found = selectors.hindrances(checks_of(job))

    assert found[0] == "The job is at “membrane”; its record is issued from the punch list on."
    assert any("still to be checked" in one for one in found)
