"""The issued quote: frozen whole, printed from the frozen copy, answered once."""

import datetime
import io
import json
import re
import threading
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.urls import reverse
from pypdf import PdfReader

from contracting.customers.models import Customer, Site
from contracting.documents.models import DocumentRequest
from contracting.documents.rendering import render
from contracting.documents.services import canonical_json
from contracting.staff.models import CompanyProfile
from estimates.pricelists.models import Price
from estimates.quotes import selectors, services
from estimates.quotes.estimate_services import EditConflictError
from estimates.quotes.models import Detail, Estimate, EstimateMaterial, Quote
from estimates.quotes.tasks import expire_quotes
from tests.contracting.factories import SiteFactory

from .factories import AT, estimate_of, ready, repair_quote

pytestmark = pytest.mark.django_db
LATER = AT + datetime.timedelta(days=3)


def issued(**values) -> Quote:
    estimate = ready(**values)
    return services.quote_issue(estimate=estimate, by=estimate.created_by, at=AT)


def pdf_text(quote: Quote) -> str:
    """The words of the rendered paper, with runs of blanks made one."""
    pdf = render("quote", quote.document.snapshot).pdf
    pages = PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


# --- Frozen -----------------------------------------------------------------------------------------------


def test_issuing_copies_everything_the_paper_says():
    """After it, nothing in the database can change what the quote says."""
    quote = issued()
    before = canonical_json(quote.snapshot)
    Customer.objects.update(name="Somebody else")
    CompanyProfile.objects.update(name="Another company", margin_basis_points=9000)
    Price.objects.update(cents=1)
    Estimate.objects.update(title="Another title", terms="Other terms")
    quote.refresh_from_db()

    assert canonical_json(quote.snapshot) == before
    assert quote.snapshot["paper"]["company"]["name"] == "Quarry Lane Tile"
    assert (quote.number, quote.revision, quote.status) == ("Q-1001", 1, "issued")
    assert quote.valid_until == datetime.date(2026, 7, 1)
    assert quote.total_cents == quote.price_cents + quote.tax_cents
    assert quote.estimate.status == Estimate.Status.ISSUED


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("snapshot", {}),
        ("total_cents", 0),
        ("price_cents", 1),
        ("cost_cents", 1),
        ("number", "Q-9"),
        ("revision", 9),
        ("sha256", "0" * 64),
        ("valid_until", datetime.date(2030, 1, 1)),
        ("customer_name", "Somebody else"),
        ("issued_at", LATER),
    ],
)
def test_the_database_refuses_to_change_an_issued_quote(column, value):
    """Round every service: the trigger of the database itself says no."""
    quote = issued()
    with pytest.raises(DatabaseError, match="an issued quote is frozen"), transaction.atomic():
        Quote.objects.filter(pk=quote.pk).update(**{column: value})


def test_saving_a_status_is_not_refused():
    """What happened to the quote is not part of what it says."""
    quote = issued()
    quote.status = Quote.Status.WITHDRAWN
    quote.save()
    quote.refresh_from_db()
    assert quote.status == "withdrawn"


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("quote_status_known", {"status": "lost"}),
        ("quote_accepted_is_signed", {"status": "accepted"}),
    ],
)
def test_constraints_of_a_quote(name, values):
    """The database refuses what a service may have let through."""
    quote = issued()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        Quote.objects.filter(pk=quote.pk).update(**values)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("quote_total_is_price_and_tax", {"total_cents": 1, "number": "Q-7"}),
        ("quote_revision_from_one", {"revision": 0}),
        ("quote_number_and_revision_once|number", {"status": "superseded"}),
        ("quote_one_standing_per_estimate|estimate_id", {"number": "Q-7"}),
    ],
)
def test_constraints_of_a_new_quote(name, values):
    """One number and revision, one standing quote an estimate, a total that is the sum."""
    quote = issued()
    quote.pk = None
    for field, value in values.items():
        setattr(quote, field, value)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        quote.save(force_insert=True)


def test_a_revision_supersedes_the_one_before():
    """Same number, next revision; the old one stays as it was."""
    first = issued()
    estimate = first.estimate
    Estimate.objects.filter(pk=estimate.pk).update(travel_cents=5000)
    second = services.quote_issue(
        estimate=Estimate.objects.get(pk=estimate.pk), by=estimate.created_by, at=LATER
    )
    first.refresh_from_db()

    assert (second.number, second.revision) == ("Q-1001", 2)
    assert first.status == "superseded"
    assert second.total_cents > first.total_cents
    assert first.document_id != second.document_id


def test_pressing_twice_issues_once():
    """The second press says the same, so it is the same quote; a later day has another last day."""
    first = issued()
    estimate = Estimate.objects.get()
    again = services.quote_issue(estimate=estimate, by=first.issued_by, at=AT + datetime.timedelta(seconds=2))
    assert again.pk == first.pk
    assert services.quote_issue(estimate=estimate, by=first.issued_by, at=LATER).revision == 2


def test_issuing_from_the_page_saves_what_was_typed_first(client, office_manager):
    """Nobody issues the old margin because the new one was not saved; a wrong one is told, not issued."""
    estimate = ready()
    client.force_login(office_manager)
    form = client.get(estimate.get_absolute_url()).context["form"]
    typed = {name: form._start(name) for name in form.model_fields if name != "flood_test_asked"}
    typed |= {"revision": "1", "began": form["began"].value(), "then": "issue"}

    assert (
        "expected a percentage"
        in client.post(estimate.get_absolute_url(), typed | {"profit_basis_points": "x"}).text
    )
    assert not Quote.objects.exists()
    client.post(estimate.get_absolute_url(), typed | {"profit_basis_points": "40"})
    quote = Quote.objects.get()
    assert selectors.standing(quote).margin == pytest.approx(Decimal("0.4"), abs=Decimal("0.001"))


def test_issuing_over_somebodys_save_is_refused():
    """The estimate must be the one that was looked at."""
    estimate = ready()
    seen = Estimate.objects.get(pk=estimate.pk)
    Estimate.objects.filter(pk=estimate.pk).update(revision=2)
    with pytest.raises(EditConflictError):
        services.quote_issue(estimate=seen, by=estimate.created_by, at=AT)
    assert not Quote.objects.exists()


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda one: Price.objects.all().delete(), "has no price on that day"),
        (lambda one: EstimateMaterial.objects.filter(slot="mortar").delete(), "needs mortar"),
        (lambda one: one.estimate_rooms.all().delete(), "nothing to quote yet"),
        (lambda one: CompanyProfile.objects.update(name=""), "company has no name"),
    ],
)
def test_what_is_not_whole_is_not_issued(spoil, says):
    """And the sentence says what is missing."""
    estimate = ready()
    spoil(estimate)
    with pytest.raises(ValidationError, match=says):
        services.quote_issue(estimate=Estimate.objects.get(pk=estimate.pk), by=estimate.created_by, at=AT)
    assert not Quote.objects.exists()
    assert not DocumentRequest.objects.exists()


def test_an_estimate_of_hand_written_lines_alone_can_be_issued():
    """A repair needs no measured room."""
    quote = repair_quote()

    # 200.00 + 12 % overhead = 224.00; / 0.7 = 320.00 (by hand).
    assert quote.price_cents == 32_000


@pytest.mark.django_db(transaction=True)
def test_issued_twice_at_once_there_is_one_standing_quote():
    """Two presses of the button at the same moment: one quote, or a refusal, and never two that stand."""
    estimate = ready()
    failures: list[Exception] = []
    gate = threading.Barrier(2)

    def press() -> None:
        seen = Estimate.objects.select_related("site__customer").get(pk=estimate.pk)
        gate.wait()
        try:
            services.quote_issue(estimate=seen, by=estimate.created_by, at=AT)
        except (EditConflictError, IntegrityError) as error:
            failures.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert Quote.objects.filter(status="issued").count() == 1
    assert Quote.objects.count() == 1
    assert len(failures) < 2


# --- No cost, no margin -----------------------------------------------------------------------------------

SECRET_WORDS = ("cost", "margin", "markup", "overhead", "burden", "profit", "pay_", "wage", "working")


def _keys(value: object) -> list[str]:
    if isinstance(value, dict):
        return [*value, *(key for part in value.values() for key in _keys(part))]
    if isinstance(value, list):
        return [key for part in value for key in _keys(part)]
    return []


def _money(cents: int) -> str:
    return f"{cents / 100:,.2f}"


@pytest.mark.parametrize("detail", Detail.values)
def test_cost_and_margin_are_never_in_the_customers_part(detail):
    """Neither by name nor by amount, at any detail, in the paper and in the work part."""
    quote = issued(rooms=2, detail=detail, disposal_cents=43_219)
    office = quote.snapshot["office"]
    hidden = {office["cost_cents"], office["full_cost_cents"], 43_219}
    hidden |= {line["cost_cents"] for line in office["lines"]} - {0}
    for part in ("paper", "work"):
        keys = {key.lower() for key in _keys(quote.snapshot[part])}
        assert not [key for key in keys for word in SECRET_WORDS if word in key and part == "paper"], part
    paper = {key: value for key, value in quote.snapshot["paper"].items() if key != "rooms"}
    shown = {int(number) for number in re.findall(r'"cents": (\d+)', json.dumps(paper))}
    shown |= {paper["price_cents"], paper["tax_cents"], paper["total_cents"]}
    assert not shown & (hidden - {line["price_cents"] for line in office["lines"]})
    work = {key: value for key, value in quote.snapshot["work"].items() if key != "plans"}
    assert not re.search(r"_cents|USD|\$\d", json.dumps(work))


@pytest.mark.parametrize("detail", Detail.values)
def test_the_paper_says_what_was_chosen_and_nothing_of_cost(detail, pango):
    """Prices by the chosen detail; no cost, margin or overhead, no hours; everything a customer signs."""
    quote = issued(rooms=2, detail=detail, disposal_cents=43_219)
    office, text = quote.snapshot["office"], pdf_text(quote)

    for word in ("margin", "markup", "overhead", "burden", "profit"):
        assert word not in text.lower(), word
    for line in office["lines"]:
        if line["cost_cents"] and line["cost_cents"] not in {one["price_cents"] for one in office["lines"]}:
            assert _money(line["cost_cents"]) not in text
    assert _money(office["cost_cents"]) not in text
    assert _money(office["full_cost_cents"]) not in text
    for expected in (
        "Quarry Lane Tile",
        "Quote Q-1001",
        "Bath floors",
        "July 1, 2026",
        "Bath 1",
        "All work as drawn",
        "Painting",
        "Changes are agreed in writing.",
        "29 CFR 1926.1153",
        "On acceptance",
        "Signature",
        f"${_money(quote.total_cents)}",
        "page 1 /",
        "1 in = ",
    ):
        assert expected in text, expected
    assert ("Disposal" in text or "disposal" in text) == (detail == "line")
    assert ("Whole job" in text) == (detail in ("room", "line"))


def test_the_totals_are_the_same_at_every_detail():
    """What the customer sees sums to the same price, whichever way it is shown."""
    estimate = ready(rooms=2)
    totals = set()
    for detail in Detail.values:
        Estimate.objects.filter(pk=estimate.pk).update(detail=detail)
        quote = services.quote_issue(
            estimate=Estimate.objects.get(pk=estimate.pk), by=estimate.created_by, at=AT
        )
        groups = quote.snapshot["paper"]["groups"]
        assert sum(line["cents"] for group in groups for line in group["lines"]) == quote.price_cents
        totals.add(quote.total_cents)
    assert len(totals) == 1


@pytest.mark.parametrize(("currency", "size"), [("USD", (612, 792)), ("EUR", (595, 842))])
def test_the_paper_is_letter_or_a4(currency, size, pango):
    """By the company's currency."""
    estimate = ready()
    CompanyProfile.objects.update(currency=currency)
    quote = services.quote_issue(estimate=estimate, by=estimate.created_by, at=AT)
    page = PdfReader(io.BytesIO(render("quote", quote.document.snapshot).pdf)).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == size


def test_the_same_snapshot_gives_the_same_bytes(pango):
    """The paper needs nothing but its snapshot."""
    quote = issued()
    once = render("quote", quote.document.snapshot).pdf
    Customer.objects.update(name="Somebody else")
    assert render("quote", quote.document.snapshot).pdf == once


def test_what_the_customer_types_cannot_become_markup(pango):
    """Names and words are printed as they are."""
    estimate = ready(title="<b>Bath</b> & {{ secret }}", terms="<script>x</script>")
    quote = services.quote_issue(estimate=estimate, by=estimate.created_by, at=AT)
    text = pdf_text(quote)
    assert "<b>Bath</b> & {{ secret }}" in text
    assert "<script>x</script>" in text


def test_the_work_part_has_everything_the_crew_needs():
    """Takeoff, materials by name with packs, plans; for jobs, without money."""
    work = selectors.quote_work(issued())

    assert {row["role"] for row in work["materials"]} >= {"membrane", "tile", "grout"}
    assert work["takeoff"]["hours"]
    room = work["rooms"][0]["key"]
    assert work["plans"][room]["membrane"].startswith("<svg")


# --- Answered ---------------------------------------------------------------------------------------------


def test_accepted_on_paper():
    """Who signed, when, who wrote it down; the estimate is won."""
    quote = issued()
    services.quote_accept_on_paper(
        quote=quote, name=" A. Sample ", signed_on=LATER.date(), by=quote.issued_by, at=LATER
    )
    quote.refresh_from_db()

    assert (quote.status, quote.signed_name, quote.recorded_by) == ("accepted", "A. Sample", quote.issued_by)
    assert Estimate.objects.get().status == Estimate.Status.WON
    with pytest.raises(ValidationError, match="accepted"):
        services.quote_issue(estimate=Estimate.objects.get(), by=quote.issued_by, at=LATER)


@pytest.mark.parametrize(
    ("name", "day", "says"),
    [
        ("  ", LATER.date(), "Write the name"),
        ("A. Sample", AT.date() - datetime.timedelta(1), "expected a day from the issue"),
        ("A. Sample", LATER.date() + datetime.timedelta(1), "expected a day from the issue"),
    ],
)
def test_an_acceptance_needs_a_name_and_a_day_that_can_be(name, day, says):
    """Nothing is stored."""
    quote = issued()
    with pytest.raises(ValidationError, match=says):
        services.quote_accept_on_paper(quote=quote, name=name, signed_on=day, by=quote.issued_by, at=LATER)
    quote.refresh_from_db()
    assert quote.status == "issued"


def test_declined_and_issued_again():
    """A declined quote keeps its answer and is followed by a revision."""
    quote = issued()
    services.quote_decline(
        quote=quote, declined_on=LATER.date(), note="too late in the year", by=quote.issued_by, at=LATER
    )
    estimate = Estimate.objects.get()
    assert estimate.status == Estimate.Status.LOST
    again = services.quote_issue(estimate=estimate, by=quote.issued_by, at=LATER)
    quote.refresh_from_db()
    assert (quote.status, quote.answer_note) == ("superseded", "too late in the year")
    assert again.revision == 2


def test_only_the_first_answer_counts():
    """Somebody else withdrew it while this page was open."""
    quote = issued()
    seen = Quote.objects.get(pk=quote.pk)
    services.quote_withdraw(quote=quote, note="", by=quote.issued_by, at=LATER)
    with pytest.raises(ValidationError, match="is withdrawn already"):
        services.quote_accept_on_paper(
            quote=seen, name="A. Sample", signed_on=LATER.date(), by=quote.issued_by, at=LATER
        )


def test_every_move_that_is_not_in_the_table_is_refused():
    """From each status to each other one, as the table says and no other way."""
    quote = issued()
    for old in Quote.Status:
        for new in Quote.Status:
            if new in Quote.TRANSITIONS[old]:
                continue
            quote.status = old
            with pytest.raises(ValidationError):
                services._move(quote, new, by=quote.issued_by, at=LATER)


def test_the_scheduler_expires_quotes(time_machine, settings):
    """The task is on the schedule."""
    quote = issued()
    time_machine.move_to(datetime.datetime(2026, 7, 3, tzinfo=datetime.UTC))
    assert settings.CELERY_BEAT_SCHEDULE["quotes-expire"]["task"] == expire_quotes.name
    assert expire_quotes() == 1
    quote.refresh_from_db()
    assert quote.status == "expired"


def test_open_quotes_expire_after_their_last_day():
    """The last day itself still counts; a late signature can still be recorded."""
    quote = issued()
    over = datetime.datetime.combine(
        quote.valid_until + datetime.timedelta(1), datetime.time(), ZoneInfo(quote.site.time_zone)
    )
    assert services.quotes_expire(at=over - datetime.timedelta(minutes=1)) == 0
    assert services.quotes_expire(at=over) == 1
    quote.refresh_from_db()
    services.quote_accept_on_paper(
        quote=quote, name="A. Sample", signed_on=LATER.date(), by=quote.issued_by, at=LATER
    )
    assert quote.status == "accepted"


def test_the_last_day_is_over_when_it_is_over_where_the_site_is():
    """In Honolulu five hours after Chicago (in July), where the company's own clock is."""
    estimate = ready()
    Site.objects.filter(pk=estimate.site_id).update(time_zone="Pacific/Honolulu")
    estimate.refresh_from_db()
    quote = services.quote_issue(estimate=estimate, by=estimate.created_by, at=AT)
    after = quote.valid_until + datetime.timedelta(days=1)
    at_home = datetime.datetime.combine(after, datetime.time(1), ZoneInfo("America/Chicago"))

    assert services.quotes_expire(at=at_home) == 0
    assert services.quotes_expire(at=at_home + datetime.timedelta(hours=5)) == 1


# --- Pages ------------------------------------------------------------------------------------------------


def test_quote_page_shows_progress_then_a_failure_that_can_be_tried_again(client, office_manager):
    """The document's own partial stands on the page."""
    quote = issued()
    client.force_login(office_manager)
    page = client.get(quote.get_absolute_url())
    assert "Waiting for its turn" in page.text
    assert "30.0" in page.text or "30\u202f%" in page.text

    DocumentRequest.objects.update(status="failed", error="The disk is full.")
    page = client.get(quote.get_absolute_url())
    assert "The disk is full." in page.text
    assert "Try again" in page.text


def test_a_lost_paper_is_asked_for_again(client, office_manager):
    """From the frozen part; the quote itself does not change."""
    quote = issued()
    DocumentRequest.objects.all().delete()
    client.force_login(office_manager)
    assert "it can be made again" in client.get(quote.get_absolute_url()).text
    client.post(reverse("quotes:paper-again", args=[quote.pk]))
    quote.refresh_from_db()
    assert quote.document.snapshot["number"] == "Q-1001"


def test_decline_and_withdraw_on_the_page(client, office_manager):
    """A day to come is told beside the field."""
    quote = issued()
    client.force_login(office_manager)
    address = reverse("quotes:decline", args=[quote.pk])
    assert "expected a day from the issue" in client.post(address, {"day": "2040-01-01"}).text
    client.post(reverse("quotes:withdraw", args=[quote.pk]), {"note": "prices rose"})
    assert "prices rose" in client.get(quote.get_absolute_url()).text
    again = client.post(reverse("quotes:withdraw", args=[quote.pk]), follow=True)
    assert "is withdrawn already" in again.text


@pytest.mark.parametrize("count", [2, 20])
def test_quote_list_takes_the_same_queries(count, client, office_manager, django_assert_num_queries):
    """Session, user, count and page; the snapshots stay in the database."""
    first = issued()
    site = SiteFactory.create()
    for number in range(count - 1):
        estimate = estimate_of(0, by=first.issued_by, site=site)
        copy = Quote.objects.get(pk=first.pk)
        copy.pk, copy.estimate, copy.number = None, estimate, f"Q-{2000 + number}"
        copy.save(force_insert=True)
    client.force_login(office_manager)
    with django_assert_num_queries(4):
        page = client.get(reverse("quotes:quotes"))
    assert page.text.count("Bath floors") == count


def test_quote_list_finds_by_number_name_and_status(client, office_manager):
    """And says what to do when nothing matches."""
    quote = issued()
    client.force_login(office_manager)
    address = reverse("quotes:quotes")
    for text in (quote.number, "bath", quote.customer_name, "Example Street"):
        assert "Bath floors" in client.get(address, {"q": text, "status": "issued"}).text, text
    assert "No quote matches" in client.get(address, {"status": "accepted"}).text


@pytest.mark.parametrize("rooms", [1, 5])
def test_quote_page_takes_the_same_queries(rooms, client, office_manager, django_assert_num_queries):
    """Session, user, quote, private links, revisions: everything else is in the snapshot."""
    quote = issued(rooms=rooms)
    client.force_login(office_manager)
    with django_assert_num_queries(5):
        client.get(quote.get_absolute_url())


@pytest.mark.parametrize("ended", ["expired", "withdrawn"])
def test_an_estimate_whose_quote_ended_says_what_the_quote_says(client, office_manager, ended):
    estimate = ready(by=office_manager)
    services.quote_issue(estimate=estimate, by=office_manager, at=AT)
    client.force_login(office_manager)
    listed = reverse("quotes:estimates")

    assert estimate.title in client.get(listed, {"status": "issued"}).content.decode()
    Quote.objects.update(status=ended)

    found = selectors.estimates_matching().get()
    assert (found.status, found.standing, found.get_standing_display()) == ("issued", ended, ended)
    page = client.get(estimate.get_absolute_url()).content.decode()
    assert f'<span class="mark {"wait" if ended == "expired" else "stop"}">{ended}</span>' in page
    assert ("ran out on" in page) == (ended == "expired")
    assert estimate.title in client.get(listed, {"status": ended}).content.decode()
    assert estimate.title not in client.get(listed, {"status": "issued"}).content.decode()
