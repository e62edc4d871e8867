"""Jobs: made once, moved by one table, seen by those who are on them, and never with money for the crew."""

import datetime
import json
import re

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.http import Http404
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contracting.documents.models import Audience
from contracting.documents.rendering import render
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_issue
from jobs.work import followers, papers, policies, services
from jobs.work.forms import MoveForm
from jobs.work.models import TRANSITIONS, Job, Stage
from tests.estimates.quotes.factories import AT, DAY, ready
from tests.jobs.work import factories

pytestmark = pytest.mark.django_db


def test_a_signed_quote_becomes_one_job_however_often_it_is_asked_for(office_manager):
    quote = factories.signed_quote(by=office_manager)

    first = services.job_from_quote(quote=quote, by=office_manager)
    second = services.job_from_quote(quote=quote, by=office_manager)

    assert first == second
    assert Job.objects.count() == 1
    assert first.stage == Stage.ACCEPTED
    assert [change.stage for change in first.stage_changes.all()] == ["accepted"]


def test_a_job_is_made_with_its_inspection_plan_and_its_budget(office_manager):
    job = factories.job(by=office_manager)

    assert job.inspection_plan.checks.count() > 3
    assert job.budget is not None


def test_an_open_quote_is_no_job_yet(office_manager):
    quote = quote_issue(estimate=ready(by=office_manager), by=office_manager, at=AT)

    with pytest.raises(ValidationError, match="Only an accepted quote"):
        services.job_from_quote(quote=quote, by=office_manager)


def test_signature_and_job_are_stored_together_or_not_at_all(office_manager, monkeypatch):
    quote = quote_issue(estimate=ready(by=office_manager), by=office_manager, at=AT)

    def fail(*, job, by):
        raise RuntimeError("the power went")

    monkeypatch.setattr(followers, "_makers", [fail])
    with pytest.raises(RuntimeError):
        services.quote_sign_on_paper(quote=quote, name="Ada", signed_on=DAY, by=office_manager)

    assert Quote.objects.get(pk=quote.pk).status == Quote.Status.ISSUED
    assert not Job.objects.exists()


def test_the_office_records_a_signature_on_the_screen(client, office_manager):
    client.force_login(office_manager)
    quote = quote_issue(estimate=ready(by=office_manager), by=office_manager, at=AT)

    refused = client.post(reverse("work:sign", args=[quote.pk]), {"name": "Ada", "signed_on": "2020-01-01"})
    made = client.post(reverse("work:sign", args=[quote.pk]), {"name": "Ada", "signed_on": "2026-06-02"})

    assert "expected a day from the issue" in refused.content.decode()
    assert 'value="Ada"' in refused.content.decode()
    assert made.status_code == 302
    assert made.url == Job.objects.get().get_absolute_url()


def test_a_job_moves_only_along_the_table(office_manager, monkeypatch):
    monkeypatch.setattr(followers, "_hindrances", [])
    job = factories.job(by=office_manager)

    for old in Stage:
        for new in Stage:
            Job.objects.filter(pk=job.pk).update(stage=old, starts_on=DAY)
            job.refresh_from_db()
            if new in TRANSITIONS[old]:
                services.job_move(job=job, stage=new, by=office_manager)
                assert Job.objects.get().stage == new
            else:
                with pytest.raises(ValidationError, match="does not go from"):
                    services.job_move(job=job, stage=new, by=office_manager)


def test_the_second_of_two_who_move_a_job_is_told(office_manager):
    job = factories.job(by=office_manager)
    stale = Job.objects.get(pk=job.pk)
    services.job_plan(job=job, starts_on=DAY, crew=[], crew_notes="", by=office_manager)

    with pytest.raises(ValidationError, match="Somebody else has moved"):
        services.job_move(job=stale, stage=Stage.CANCELLED, by=office_manager)


def test_what_stands_in_the_way_is_said_in_words(client, office_manager):
    client.force_login(office_manager)
    job = factories.job(by=office_manager)
    services.job_plan(job=job, starts_on=DAY, crew=[], crew_notes="", by=office_manager)
    services.job_move(job=job, stage=Stage.SUBSTRATE, by=office_manager)

    page = client.post(reverse("work:move", args=[job.pk]), {"stage": "membrane"}, follow=True)

    assert Job.objects.get().stage == Stage.SUBSTRATE
    assert 'class="notice error"' in page.content.decode()


def test_planning_puts_people_on_a_job_and_schedules_it(client, office_manager, installer, other_installer):
    client.force_login(office_manager)
    job = factories.job(by=office_manager, crew=(other_installer,))

    client.post(
        reverse("work:plan", args=[job.pk]),
        {"starts_on": "2026-06-15", "crew": [installer.pk], "crew_notes": "Ring twice"},
    )

    job.refresh_from_db()
    assert (job.stage, job.starts_on) == (Stage.SCHEDULED, datetime.date(2026, 6, 15))
    assert list(job.crew.all()) == [installer]


@pytest.mark.parametrize("typed", ["2020-06-15", "2206-06-15"])
def test_a_start_in_another_year_is_refused_beside_the_field(client, office_manager, typed):
    client.force_login(office_manager)
    job = factories.job(by=office_manager)

    page = client.post(
        reverse("work:plan", args=[job.pk]), {"starts_on": typed, "crew_notes": "Ring twice"}
    ).content.decode()

    job.refresh_from_db()
    assert job.starts_on is None
    assert "expected a day from" in page
    assert "Ring twice" in page


def test_a_job_under_way_keeps_its_start(client, office_manager):
    client.force_login(office_manager)
    job = factories.job(by=office_manager)
    services.job_plan(job=job, starts_on=DAY, crew=[], crew_notes="", by=office_manager)

    page = client.post(reverse("work:plan", args=[job.pk]), {"starts_on": "", "crew_notes": "kept text"})

    assert "needs its start" in page.content.decode()
    assert "kept text" in page.content.decode()


def test_the_database_refuses_a_job_under_way_without_a_start(office_manager):
    job = factories.job(by=office_manager)

    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(stage="tile")
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(stage="lunch")


def test_an_installer_sees_the_jobs_they_are_on_and_no_others(client, office_manager, installer):
    mine = factories.job(by=office_manager, crew=(installer,))
    other = factories.job(by=office_manager, first=False)
    client.force_login(installer)

    page = client.get(reverse("work:jobs"))

    assert [job.pk for job in page.context["page"]] == [mine.pk]
    assert client.get(mine.get_absolute_url()).status_code == 200
    with pytest.raises(Http404):
        policies.job_for(installer, other.pk)


def money_words(text: str) -> list[str]:
    """What would tell a cost, a price, a margin or a pay; "price list" only names where a pack is listed."""
    told = r"\$|USD|_cents|\bcosts?\b|\bprices?\b|\bmargin\b|\bmarkup\b|\bpay\b"
    return re.findall(told, text.replace("price list", ""), re.IGNORECASE)


def test_the_crew_never_sees_money_on_the_page_or_the_papers(client, office_manager, installer):
    job = factories.job(by=office_manager, crew=(installer,))
    client.force_login(installer)

    page = client.get(job.get_absolute_url()).content.decode()
    sheet = papers.crew_sheet_request(job=job, by=installer)
    bought = papers.purchase_list_request(job=job, by=installer)

    assert money_words(re.sub(r"<(style|script).*?</\1>", "", page, flags=re.DOTALL)) == []
    for document in (sheet, bought):
        assert document.audience == Audience.CREW
        assert money_words(json.dumps(document.snapshot)) == []
        assert money_words(document.filename) == []


def test_a_paper_is_for_the_crew_of_its_job_and_for_no_other(
    client, office_manager, installer, other_installer
):
    """A crew sheet tells how to get into a house, and its number is easily guessed."""
    job = factories.job(by=office_manager, crew=(installer,))
    papers_made = [
        ask(job=job, by=installer) for ask in (papers.crew_sheet_request, papers.purchase_list_request)
    ]

    for person, code in ((installer, 200), (office_manager, 200), (other_installer, 404)):
        client.force_login(person)
        for paper in papers_made:
            assert client.get(paper.get_absolute_url()).status_code == code
    client.force_login(other_installer)
    for paper in papers_made:
        assert client.get(reverse("documents:download", args=[paper.pk])).status_code == 404
        assert client.post(reverse("documents:retry", args=[paper.pk])).status_code == 404
    # Who is taken off the job loses it.
    job.crew_members.all().delete()
    client.force_login(installer)
    assert client.get(papers_made[0].get_absolute_url()).status_code == 404


def test_the_crew_sheet_shows_plan_cuts_batches_and_sequence(office_manager, installer):
    job = factories.job(by=office_manager, crew=(installer,))
    context = papers.crew_sheet_context(papers.crew_sheet_request(job=job, by=office_manager).snapshot)

    pieces = [piece for roll in context["rolls"] for piece in roll["pieces"]]
    cut_plan = job.quote.snapshot["work"]["takeoff"]["cut_plan"]
    assert len(pieces) == sum(len(roll["placed"]) for roll in cut_plan["rolls"])
    assert all(piece["place"] for piece in pieces)
    assert "<svg" in context["rooms"][0]["membrane"]
    assert context["batches"][0]["embed_within"] != "0"
    assert any(task["hold_point"] for day in context["sequence"] for task in day["tasks"])
    assert all(figure.evaluate() == figure.value for figure in context["rooms"][0]["figures"])


def test_both_papers_render(office_manager, installer):
    job = factories.job(by=office_manager, crew=(installer,))

    for ask in (papers.crew_sheet_request, papers.purchase_list_request):
        document = ask(job=job, by=installer)
        rendered = render(document.kind, document.snapshot)

        assert rendered.pdf.startswith(b"%PDF")


def test_a_paper_asked_for_twice_is_one_paper(client, office_manager):
    client.force_login(office_manager)
    job = factories.job(by=office_manager)

    first = client.post(reverse("work:crew-sheet", args=[job.pk]))
    second = client.post(reverse("work:crew-sheet", args=[job.pk]))

    assert first.url == second.url
    assert job.papers.count() == 1


def test_the_purchase_list_buys_whole_packs_by_supplier(office_manager):
    job = factories.job(by=office_manager)
    snapshot = papers.purchase_list_request(job=job, by=office_manager).snapshot
    context = papers.purchase_list_context(snapshot)

    listed = {one["code"]: one["packs"] for _, rows in context["suppliers"] for one in rows}
    needed = {
        one["code"]: one["packs"]
        for one in job.quote.snapshot["work"]["materials"]
        if one["packs"] != "0" and not one["customer_supplied"]
    }
    assert listed == needed
    assert all(packs.isdigit() for packs in listed.values())


@pytest.mark.parametrize("address", ["work:jobs", "work:job"])
def test_pages_ask_as_often_for_twenty_jobs_as_for_two(client, office_manager, installer, address):
    client.force_login(office_manager)
    jobs = [factories.job(by=office_manager, crew=(installer,))]
    counts = []
    for number in (1, 6):
        jobs += [factories.job(by=office_manager, crew=(installer,), first=False) for _ in range(number)]
        path = reverse(address, args=[jobs[0].pk] if address == "work:job" else [])
        with CaptureQueriesContext(connection) as asked:
            assert client.get(path).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1] <= 15, [query["sql"] for query in asked]


@pytest.mark.parametrize(
    ("query", "found"),
    [("?q=bath", 1), ("?q=1001", 1), ("?q=nobody", 0), ("?stage=complete", 0), ("?stage=", 1)],
)
def test_jobs_are_found_by_title_number_and_stage(client, office_manager, query, found):
    client.force_login(office_manager)
    factories.job(by=office_manager)

    assert len(client.get(reverse("work:jobs") + query).context["page"]) == found


@pytest.mark.parametrize(
    ("stage", "offered"),
    [
        (Stage.ACCEPTED, ["scheduled", "cancelled"]),
        (Stage.MEMBRANE, ["tile", "substrate", "cancelled"]),
        (Stage.PUNCH, ["complete", "tile"]),
        (Stage.COMPLETE, ["punch"]),
        (Stage.CANCELLED, ["accepted"]),
    ],
)
def test_the_stage_ahead_is_offered_first(stage, offered):
    choices = MoveForm(job=Job(stage=stage)).fields["stage"].choices

    assert [value for value, _label in choices] == offered


@pytest.mark.parametrize(
    ("stage", "asked"),
    [
        (Stage.ACCEPTED, "Plan start and crew"),
        (Stage.SCHEDULED, "Order the material"),
        (Stage.TILE, "See what is to be checked"),
        (Stage.PUNCH, "Go through the punch list"),
        (Stage.COMPLETE, "See the warranty record"),
    ],
)
def test_a_job_asks_for_one_thing_at_its_stage(client, office_manager, stage, asked):
    job = factories.job(by=office_manager)
    Job.objects.filter(pk=job.pk).update(stage=stage, starts_on=None if stage == Stage.ACCEPTED else DAY)
    client.force_login(office_manager)

    page = client.get(job.get_absolute_url()).content.decode()

    assert re.findall(r'class="btn"[^>]*>([^<]+)<', page) == [asked]


def test_every_page_of_a_job_is_reached_from_it(client, office_manager):
    job = factories.job(by=office_manager)
    client.force_login(office_manager)

    page = client.get(job.get_absolute_url()).content.decode()

    nav = page[page.index('<nav class="parts"') :].split("</nav>")[0]
    for name in (
        "schedule:job",
        "work:purchases",
        "work:crew-sheet",
        "crew:job",
        "work:log",
        "inspections:plan",
    ):
        assert f'"{reverse(name, args=[job.pk])}"' in nav
    for name in ("photos:gallery", "inspections:plan", "punchlist:list", "billing:job", "warranty:job"):
        assert f'"{reverse(name, args=[job.pk])}"' in nav
    assert f'"{reverse("changes:orders", args=[job.quote_id])}"' in nav
    assert reverse("margins:job", args=[job.pk]) not in nav
