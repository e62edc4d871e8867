"""Links are made, opened and revoked; a quote is signed or declined by one, once, with its evidence."""

import datetime
import hashlib
from importlib import import_module

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from contracting.documents.models import DocumentRequest
from contracting.documents.services import canonical_json
from estimates.quotes import services as quotes
from estimates.quotes.models import Estimate, Quote
from estimates.quotes.signing import selectors, services
from estimates.quotes.signing.agents import coarse_agent
from estimates.quotes.signing.models import Acceptance, LinkVisit, QuoteLink
from estimates.quotes.signing.policies import link_for_token
from estimates.quotes.signing.quotes import QUOTE
from estimates.quotes.signing.selectors import State
from estimates.quotes.signing.signature import MOST_CHARACTERS, checked_drawing
from jobs.work.models import Job, StageChange

from .factories import DRAWN, PHONE, issued, now, refuse, sent, sign, small

pytestmark = pytest.mark.django_db
NEW_YEAR = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
guards = import_module("estimates.quotes.migrations.0005_signatures_are_kept")


class Cursor:
    """Runs a migration's statements inside a test's transaction, with which they are undone."""

    connection = connection

    def execute(self, statement: str) -> None:
        with connection.cursor() as cursor:
            cursor.execute(statement)


def test_of_the_token_only_its_hash_is_kept():
    """Not in the row, and nowhere else in the database either."""
    link, token = sent()
    sign(link)

    assert link.token_sha256 == hashlib.sha256(token.encode()).hexdigest()
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            assert token not in str(cursor.fetchall()), table


def test_tokens_are_long_and_differ():
    quote = small()
    tokens = {sent(quote)[1] for _ in range(20)}

    assert len(tokens) == 20
    # 32 bytes in base64 without padding: 43 signs (RFC 4648).
    assert {len(token) for token in tokens} == {43}


def test_only_the_right_token_finds_the_link():
    link, token = sent()

    assert link_for_token(QUOTE, token) == link
    for wrong in ("", "x", token[:-1], token.swapcase(), link.token_sha256, "ü" * 500):
        assert link_for_token(QUOTE, wrong) is None


def test_a_wrong_token_costs_the_same_queries_as_a_right_one(django_assert_num_queries):
    _link, token = sent()
    for asked in (token, "x", "x" * 4000):
        with django_assert_num_queries(1):
            link_for_token(QUOTE, asked)


def test_a_link_ends_with_the_quotes_last_day_where_the_site_is():
    quote = small()
    link, _token = sent(quote)
    last = datetime.datetime.combine(
        quote.valid_until + datetime.timedelta(days=1), datetime.time(), selectors.zone_of(quote)
    )

    assert link.expires_at == last
    assert selectors.state_of(link, last - datetime.timedelta(seconds=1)) is State.OPEN
    assert selectors.state_of(link, last) is State.EXPIRED


@pytest.mark.parametrize("days", [-1, 31])
def test_a_link_cannot_outlive_its_quote_or_end_before_it_begins(days):
    quote = small()
    day = now().astimezone(selectors.zone_of(quote)).date() + datetime.timedelta(days=days)

    with pytest.raises(ValidationError, match=rf"Read {day}: expected a day from today to the quote's last"):
        sent(quote, expires_on=day)
    assert not QuoteLink.objects.exists()


def test_signing_accepts_the_quote_wins_the_estimate_and_makes_the_job(office_manager):
    quote = issued(by=office_manager)
    link, _token = sent(quote, by=office_manager)

    acceptance = sign(link, name="  Ada   Lowell ")

    quote = Quote.objects.get(pk=quote.pk)
    job = Job.objects.get()
    assert (quote.status, quote.signed_name, quote.recorded_by) == ("accepted", "Ada Lowell", None)
    assert Estimate.objects.get().status == Estimate.Status.WON
    assert acceptance.name == "Ada Lowell"
    assert job.quote == quote
    change = StageChange.objects.get(job=job)
    assert (change.by, change.note) == (office_manager, "Signed by the customer: Ada Lowell")


def test_the_job_comes_with_its_budget_and_inspection_plan():
    from jobs.inspections.models import InspectionPlan
    from jobs.margins.models import Budget

    sign(sent(issued())[0])

    job = Job.objects.get()
    assert InspectionPlan.objects.filter(job=job).count() == Budget.objects.filter(job=job).count() == 1


def test_without_its_job_nothing_is_accepted(monkeypatch):
    """One transaction: what cannot be followed up is not signed."""
    from jobs.work import services as work

    def broken(**given: object) -> None:
        raise RuntimeError("no job")

    monkeypatch.setattr(work.followers, "follow", broken)
    link, _token = sent()
    with pytest.raises(RuntimeError, match="no job"):
        sign(link)

    assert Quote.objects.get().status == "issued"
    assert Estimate.objects.get().status == "issued"
    assert not Acceptance.objects.exists()
    assert not Job.objects.exists()
    assert not DocumentRequest.objects.filter(kind="signed-quote").exists()


def test_the_evidence_is_stored():
    quote = small()
    link, _token = sent(quote)
    at = now()

    acceptance = Acceptance.objects.get(pk=sign(link, kind="drawn", drawing=DRAWN, at=at).pk)

    paper = canonical_json(quote.snapshot["paper"])
    assert acceptance.paper_sha256 == hashlib.sha256(paper.encode()).hexdigest()
    assert (acceptance.kind, acceptance.drawing, acceptance.at) == ("drawn", DRAWN, at)
    assert acceptance.consent_version == QUOTE.consent_version == "2026-1"
    for said in ("instead of on paper", "paper copy", "take this consent back", "Q-1001", "PDF files"):
        assert said in acceptance.consent_text
    assert (acceptance.link, acceptance.agent) == (link, "Safari, iPhone")


def test_the_hash_of_the_pdf_is_stored_when_there_is_one():
    quote = small()
    DocumentRequest.objects.filter(pk=quote.document_id).update(
        status="done", file="x.pdf", sha256="a" * 64, page_count=1, byte_count=1
    )

    assert sign(sent(Quote.objects.get())[0]).file_sha256 == "a" * 64


def test_the_signed_paper_is_asked_for_in_the_same_transaction():
    quote = small()
    acceptance = sign(sent(quote)[0])

    document = DocumentRequest.objects.get(kind="signed-quote")
    assert acceptance.document == document
    assert (document.audience, document.filename) == ("customer", "Q-1001-r1-signed.pdf")
    signed = document.snapshot["signature"]
    assert {**document.snapshot, "signature": None} == {**quote.snapshot["paper"], "signature": None}
    assert signed["name"] == "Ada Lowell"


def test_pressed_again_the_first_signature_stands():
    link, _token = sent()
    first = sign(link)

    again = sign(QuoteLink.objects.get(), name="Somebody Else")

    assert again == first
    assert (Acceptance.objects.count(), Job.objects.count()) == (1, 1)
    assert Acceptance.objects.get().name == "Ada Lowell"


def test_by_another_link_the_second_signer_is_told():
    quote = small()
    one, other = sent(quote)[0], sent(quote)[0]
    sign(one)

    with pytest.raises(ValidationError, match="The quote is accepted already"):
        sign(QuoteLink.objects.get(pk=other.pk))
    assert Acceptance.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"consents": False}, "consents"),
        ({"name": "   "}, "name"),
        ({"kind": "drawn", "drawing": ""}, "drawing"),
        ({"kind": "drawn", "drawing": "M1 1L2 2"}, "drawing"),
        ({"kind": "drawn", "drawing": "M1 1L700 2"}, "drawing"),
        ({"kind": "drawn", "drawing": 'M1 1L200 2"/><script>'}, "drawing"),
    ],
)
def test_what_is_not_complete_is_not_signed(values, field):
    link, _token = sent()
    with pytest.raises(ValidationError) as refused:
        sign(link, **values)

    assert list(refused.value.message_dict) == [field]
    assert Quote.objects.get().status == "issued"


def test_declining_needs_a_reason_and_loses_the_estimate():
    link, _token = sent()
    with pytest.raises(ValidationError, match="Say in a word why"):
        refuse(link, reason=" ", agent="")
    refuse(link, reason="Too early for us.", agent="Safari, iPhone")

    quote = Quote.objects.get()
    assert (quote.status, quote.answer_note) == ("declined", "Too early for us.")
    assert Estimate.objects.get().status == Estimate.Status.LOST
    assert LinkVisit.objects.get().what == "declined"
    with pytest.raises(ValidationError, match="declined already"):
        sign(QuoteLink.objects.get())


def _expire(link: QuoteLink) -> None:
    quotes.quotes_expire(at=selectors.end_of_day(link.quote, link.quote.valid_until))


def _next_revision(link: QuoteLink) -> None:
    estimate = link.quote.estimate
    Estimate.objects.filter(pk=estimate.pk).update(title="Other floors")
    quotes.quote_issue(estimate=Estimate.objects.get(), by=link.made_by, at=now())


CLOSED = {
    State.REVOKED: lambda link: services.link_revoke(link=link, by=link.made_by),
    State.EXPIRED: _expire,
    State.SUPERSEDED: _next_revision,
    State.WITHDRAWN: lambda link: quotes.quote_withdraw(quote=link.quote, note="", by=link.made_by),
    State.DECLINED: lambda link: refuse(link),
}


@pytest.mark.parametrize("state", CLOSED, ids=lambda state: state.value)
def test_a_link_that_is_closed_signs_nothing(state):
    """Also for somebody whose page was opened before it was closed."""
    link, token = sent()
    opened = link_for_token(QUOTE, token)
    CLOSED[state](link)

    assert selectors.state_of(link_for_token(QUOTE, token), now()) is state
    for act in (lambda: sign(opened), lambda: sign(link_for_token(QUOTE, token))):
        with pytest.raises(ValidationError):
            act()
    assert not Acceptance.objects.exists()
    assert not Job.objects.exists()


def test_after_its_last_day_a_quote_is_not_signed_though_nobody_has_marked_it_yet():
    link, _token = sent()
    late = link.expires_at
    QuoteLink.objects.update(expires_at=late + datetime.timedelta(days=9))

    with pytest.raises(ValidationError, match="not valid any more"):
        sign(QuoteLink.objects.get(), at=late)
    sign(QuoteLink.objects.get(), at=late - datetime.timedelta(seconds=1))
    assert Quote.objects.get().answered_on == Quote.objects.get().valid_until


def test_the_signed_copy_stays_for_ninety_days():
    """As the consent says."""
    link, token = sent()
    at = now()
    sign(link, at=at)

    found = link_for_token(QUOTE, token)
    assert selectors.state_of(found, at + datetime.timedelta(days=89)) is State.ACCEPTED
    assert selectors.state_of(found, at + datetime.timedelta(days=91)) is State.EXPIRED


def test_a_signature_is_never_changed_and_never_deleted():
    """Round the services and the model: the database refuses."""
    sign(sent()[0])

    for name, value in (("name", "Mallory"), ("paper_sha256", "0" * 64), ("consent_text", "nothing")):
        with pytest.raises(IntegrityError, match="kept as it is"), transaction.atomic():
            Acceptance.objects.update(**{name: value})
    with pytest.raises(IntegrityError, match="kept as it is"), transaction.atomic():
        LinkVisit.objects.update(what="read")
    # The guard against DELETE is away while SQLite empties its tables between tests; put back, it holds.
    guards.KEPT.create(None, Cursor())
    with pytest.raises(IntegrityError, match="kept as it is"), transaction.atomic():
        Acceptance.objects.all()._raw_delete("default")
    Acceptance.objects.update(document=None)


@pytest.mark.parametrize(
    ("values", "constraint"),
    [
        ({"name": ""}, "acceptance_has_a_name"),
        ({"kind": "drawn"}, "acceptance_drawn_has_its_drawing"),
        ({"drawing": DRAWN}, "acceptance_drawn_has_its_drawing"),
        ({"consent_text": ""}, "acceptance_has_consent"),
        ({"paper_sha256": ""}, "acceptance_has_document_hash"),
    ],
)
def test_the_database_keeps_the_shape_of_a_signature(values, constraint):
    link, _token = sent()
    row = {
        "quote": link.quote,
        "link": link,
        "name": "Ada",
        "kind": "typed",
        "consent_version": "1",
        "consent_text": "yes",
        "at": now(),
        "paper_sha256": "0" * 64,
        "agent": "",
    }
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        Acceptance.objects.create(**row | values)


@pytest.mark.parametrize(
    ("values", "constraint"),
    [
        (
            {"revoked_at": datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)},
            "quote_link_revoked_by_somebody",
        ),
        ({"expires_at": datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)}, "quote_link_ends_after"),
    ],
)
def test_the_database_keeps_the_shape_of_a_link(values, constraint):
    sent()
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        QuoteLink.objects.update(**values)


def test_a_visit_is_of_a_known_kind():
    link, _token = sent()
    with pytest.raises(IntegrityError, match="link_visit_what_known"), transaction.atomic():
        LinkVisit.objects.create(link=link, at=now(), what="bought", agent="")


@pytest.mark.parametrize(
    ("user_agent", "said"),
    [
        (PHONE, "Safari, iPhone"),
        (
            "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 "
            "Mobile Safari/537.36",
            "Chrome, Android",
        ),
        (
            "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) "
            "Chrome/126.0.0.0 Safari/537.36 Edg/126.0.0.0",
            "Edge, Windows",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:127.0) Gecko/20100101 Firefox/127.0", "Firefox, Linux"),
        ("<script>", "another browser, another system"),
        ("", "another browser, another system"),
    ],
)
def test_a_device_is_named_by_words_of_our_own(user_agent, said):
    assert coarse_agent(user_agent) == said


@pytest.mark.parametrize(
    "data",
    [
        "M0 0",
        "M0 0L10 10Z",
        "M0 0 L300 10",
        "M0 0L-300 10",
        "M0 0L300.5 10",
        "M0 0C1 1 2 2 300 10",
        "M0 0L300 201",
        "M0 0L601 10",
        "M٣ 0L300 10",
        "M0 0L300 10\n",
        "M0 0" + "L600 200L0 0" * (MOST_CHARACTERS // 12 + 1),
    ],
)
def test_a_drawing_is_lines_within_its_field_and_nothing_else(data):
    with pytest.raises(ValidationError):
        checked_drawing(data)


def test_a_drawing_that_is_one_comes_back_as_it_was():
    assert checked_drawing(DRAWN) == DRAWN
    # 100 units of line are the least (our own rule): 60 down and 80 across are exactly that.
    assert checked_drawing("M0 0L80 60") == "M0 0L80 60"
    with pytest.raises(ValidationError):
        checked_drawing("M0 0L80 59")


def test_a_paper_signature_recorded_in_the_office_closes_the_link_to_answers(office_manager):
    from jobs.work.services import quote_sign_on_paper

    link, token = sent()
    today = now().astimezone(selectors.zone_of(link.quote)).date()
    quote_sign_on_paper(quote=link.quote, name="Ada Lowell", signed_on=today, by=office_manager)

    with pytest.raises(ValidationError, match="accepted already"):
        sign(link_for_token(QUOTE, token))
    assert Job.objects.count() == 1


def test_time_of_signing_is_what_the_clock_says():
    link, _token = sent()
    with time_machine.travel(now() + datetime.timedelta(days=3), tick=False):
        acceptance = sign(link)
        assert acceptance.at == now()
