"""A customer's pages by a private link, and the office's part of the quote's page."""

import datetime
import io
import logging
import re
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
import time_machine
from django.urls import reverse
from pypdf import PdfReader

from contracting.documents.rendering import render
from contracting.private_links import masked
from estimates.quotes import services as quotes
from estimates.quotes.models import Detail, Quote
from estimates.quotes.signing import selectors, services
from estimates.quotes.signing.models import Acceptance, LinkVisit, QuoteLink
from estimates.quotes.signing.quotes import QUOTE
from jobs.work.models import Job
from tests.estimates.quotes.test_quotes import SECRET_WORDS, _money

from .factories import DRAWN, PHONE, issued, now, refuse, sent, sign, small

pytestmark = pytest.mark.django_db
TYPED = {"consents": "on", "name": "Ada Lowell", "kind": "typed", "drawing": ""}
PAGES = ("quote", "sign", "decline", "quote-paper", "signed-paper")


def at(page: str, token: str) -> str:
    return reverse(f"signing:{page}", args=[token])


def text_of(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", answer.content.decode()))


def test_the_customer_reads_the_whole_quote(client):
    _link, token = sent(issued(rooms=2))

    answer = client.get(at("quote", token))

    text = text_of(answer)
    for said in (
        "Quarry Lane Tile",
        "Quote Q-1001",
        "Bath 1",
        "Bath 2",
        "Clean-up every day",
        "Painting",
        "Changes are agreed in writing.",
        "Before work starts",
        "Payments",
        "Accept and sign",
        "Decline",
        _money(Quote.objects.get().total_cents),
        services.paper_sha256(Quote.objects.get()),
    ):
        assert said in text, said
    assert answer.content.decode().count("<svg") >= 2


@pytest.mark.parametrize("detail", Detail.values)
def test_the_customer_never_sees_cost_or_margin(client, detail):
    """On no page of the link, at any detail, before and after signing."""
    quote = issued(rooms=2, detail=detail, disposal_cents=43_219)
    link, token = sent(quote)
    office = quote.snapshot["office"]
    hidden = {office["cost_cents"], office["full_cost_cents"], 43_219}
    hidden |= {line["cost_cents"] for line in office["lines"]}
    hidden -= {line["price_cents"] for line in office["lines"]} | {0}
    seen = [client.get(at(page, token)).content.decode() for page in ("quote", "sign", "decline")]
    sign(link)
    seen.append(client.get(at("quote", token)).content.decode())

    for page in seen:
        assert not [cents for cents in hidden if f"${_money(cents)}" in page]
        words = page.lower().replace("-margin", "")
        assert not [word for word in SECRET_WORDS if re.search(rf"\b{word}", words) and word != "cost"]
        assert len(re.findall(r"\bcost", words)) <= 1  # the consent says that a paper copy costs nothing


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("token", ["x", "A" * 43, "..", "%00", "<script>", "x" * 2000])
def test_a_wrong_token_is_told_nothing(client, page, token):
    sent()
    answer = client.get(at(page, token))

    assert answer.status_code == 404
    for said in ("Quarry", "Q-1001", "Ada", "555", token):
        assert said not in answer.content.decode().replace("xmlns", "") or len(said) < 3
    assert not LinkVisit.objects.exists()


def test_a_wrong_token_posts_nothing(client):
    sent()
    assert client.post(at("sign", "A" * 43), TYPED).status_code == 404
    assert not Acceptance.objects.exists()


def test_signing_by_typing(client):
    link, token = sent()

    answer = client.post(at("sign", token), TYPED, headers={"user-agent": PHONE}, follow=True)

    assert answer.redirect_chain == [(at("quote", token), 302)]
    assert "Accepted and signed" in text_of(answer)
    assert "Ada Lowell" in text_of(answer)
    acceptance = Acceptance.objects.get()
    assert (acceptance.link, acceptance.kind, acceptance.agent) == (link, "typed", "Safari, iPhone")
    assert Job.objects.count() == 1


def test_posted_twice_it_is_signed_once(client):
    _link, token = sent()
    for _ in range(2):
        answer = client.post(at("sign", token), TYPED, follow=True)
        assert "Accepted and signed" in text_of(answer)

    assert Acceptance.objects.count() == Job.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"consents": ""}, "Agree to sign electronically first"),
        ({"name": " "}, "Write your full name."),
        ({"kind": "drawn"}, "Draw your signature in the field"),
        ({"kind": "drawn", "drawing": "M1 1<svg>"}, "The drawing could not be read"),
        ({"kind": "stamp"}, "stamp is not one of the available choices"),
        ({"name": "x" * 500}, "at most 120 characters"),
    ],
)
def test_what_is_missing_is_said_and_nothing_is_lost(client, change, says):
    _link, token = sent()

    answer = client.post(at("sign", token), TYPED | change)

    assert answer.status_code == 200
    assert says in text_of(answer)
    if "name" not in change:
        assert 'value="Ada Lowell"' in answer.content.decode()
    assert not Acceptance.objects.exists()
    assert LinkVisit.objects.get().what == "incomplete"


def test_declining(client):
    _link, token = sent()
    assert "Say in a word why" in text_of(client.post(at("decline", token), {"reason": ""}))

    answer = client.post(at("decline", token), {"reason": "Next year perhaps"}, follow=True)

    assert "You have declined" in text_of(answer)
    assert Quote.objects.get().answer_note == "Next year perhaps"


def _late(link):
    return link.expires_at + datetime.timedelta(hours=1)


CLOSED = {
    "This link is closed": lambda link: services.link_revoke(link=link, by=link.made_by),
    "This quote was taken back": lambda link: quotes.quote_withdraw(
        quote=link.quote, note="", by=link.made_by
    ),
    "There is a newer quote": lambda link: Quote.objects.update(status="superseded"),
    "This link has ended": lambda link: QuoteLink.objects.update(
        made_at=now() - datetime.timedelta(days=2), expires_at=now() - datetime.timedelta(days=1)
    ),
    "You have declined": lambda link: refuse(link),
}


@pytest.mark.parametrize("says", CLOSED)
def test_a_closed_link_says_so_calmly_and_shows_no_quote(client, says):
    link, token = sent()
    CLOSED[says](link)

    for page in PAGES:
        answer = client.get(at(page, token), follow=True)
        text = text_of(answer)
        assert answer.status_code == 200
        assert says in text
        assert "Quarry Lane Tile" in text
        assert "Q-1001" not in text
        assert "Reset three tiles" not in text
        assert "$" not in text
    answer = client.post(at("sign", token), TYPED, follow=True)
    assert says in text_of(answer)
    assert not Acceptance.objects.exists()


def test_an_ended_quote_is_not_signed(client):
    link, token = sent()
    with time_machine.travel(_late(link), tick=False):
        answer = client.post(at("sign", token), TYPED, follow=True)

    assert "This link has ended" in text_of(answer)


def test_every_visit_is_logged_without_an_address(client, office_manager):
    _link, token = sent()
    with_address = {"REMOTE_ADDR": "203.0.113.9", "HTTP_X_FORWARDED_FOR": "203.0.113.9"}
    for page in ("quote", "sign", "decline"):
        client.get(at(page, token), headers={"user-agent": PHONE}, **with_address)
    client.force_login(office_manager)
    client.get(at("quote", token))

    visits = list(LinkVisit.objects.order_by("pk"))
    assert [visit.what for visit in visits] == ["read", "signing", "declining", "read"]
    assert {visit.agent for visit in visits[:3]} == {"Safari, iPhone"}
    assert [visit.staff for visit in visits] == [None, None, None, office_manager]
    assert "203.0.113.9" not in str(list(LinkVisit.objects.values()))


def test_a_program_that_hammers_is_told_to_wait(client, monkeypatch):
    monkeypatch.setattr(selectors, "BUSY_FROM", 3)
    _link, token = sent()
    codes = [client.get(at("quote", token)).status_code for _ in range(6)]

    assert codes == [200, 200, 200, 200, 429, 429]
    with time_machine.travel(now() + datetime.timedelta(minutes=11)):
        assert client.get(at("quote", token)).status_code == 200


def test_the_page_is_not_kept_and_not_indexed(client):
    _link, token = sent()
    for asked in (token, "x"):
        answer = client.get(at("quote", asked))
        assert answer["Cache-Control"] == "private, no-store"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        # Nobody else learns the address; our own pages need it against forged posts.
        assert answer["Referrer-Policy"] == "same-origin"


def test_the_page_obeys_the_strict_policy(client):
    """No script and no style in the page itself, which the policy would refuse."""
    link, token = sent(issued())
    pages = [client.get(at(page, token)) for page in ("quote", "sign", "decline")]
    sign(link, kind="drawn", drawing=DRAWN)
    pages.append(client.get(at("quote", token)))
    for answer in pages:
        assert "unsafe" not in answer["Content-Security-Policy"]
        page = answer.content.decode()
        assert not re.search(r"<style|\sstyle=|\son\w+=|<script(?![^>]*\ssrc=)", page)


def test_the_customers_page_is_in_the_quotes_own_language(client):
    _link, token = sent()
    answer = client.get(at("quote", token), headers={"accept-language": "es"})

    assert '<html lang="en' in answer.content.decode()


def test_the_same_few_queries_for_two_rooms_and_for_six(client, django_assert_num_queries):
    for rooms, first in ((2, True), (6, False)):
        _link, token = sent(issued(rooms=rooms, first=first))
        # The link with its quote, whether it is opened too often, the visit.
        with django_assert_num_queries(3):
            client.get(at("quote", token))
        with django_assert_num_queries(3):
            client.get(at("sign", token))


def test_the_pdfs_are_handed_over_by_the_link_alone(client, pango):
    from contracting.documents.tasks import render_document

    link, token = sent()
    assert client.get(at("quote-paper", token)).url == at("quote", token)
    render_document(link.quote.document_id)
    assert b"".join(client.get(at("quote-paper", token)).streaming_content).startswith(b"%PDF")
    assert client.get(at("signed-paper", token)).url == at("quote", token)
    client.post(at("sign", token), TYPED)
    assert "Your signed PDF is being made." in text_of(client.get(at("quote", token)))
    render_document(Acceptance.objects.get().document_id)

    answer = client.get(at("signed-paper", token) + "?keep")
    assert b"".join(answer.streaming_content).startswith(b"%PDF")
    assert answer["Content-Disposition"] == 'attachment; filename="Q-1001-r1-signed.pdf"'
    assert "Save the signed PDF" in text_of(client.get(at("quote", token)))
    assert client.get(reverse("documents:download", args=[link.quote.document_id])).status_code == 302


@pytest.mark.parametrize("kind", ["typed", "drawn"])
def test_the_signed_pdf_is_the_quote_with_its_signature(kind, pango):
    quote = issued()
    acceptance = sign(sent(quote)[0], kind=kind, drawing=DRAWN if kind == "drawn" else "")
    snapshot = acceptance.document.snapshot

    rendered = render("signed-quote", snapshot)

    assert render("signed-quote", snapshot).pdf == rendered.pdf
    said = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(rendered.pdf)).pages)
    text = re.sub(r"\s+", " ", said)
    for part in (
        "Bath floors",
        _money(quote.total_cents),
        "Accepted and signed electronically",
        "Ada Lowell",
        f"{kind}, Safari, iPhone",
        "made for ada@example.com",
        acceptance.paper_sha256,
        "America/Chicago",
        "instead of on paper",
    ):
        assert part in text, part
    assert "Name in print" not in text


# --- The office -------------------------------------------------------------------------------------------


def test_the_office_makes_a_link_and_sees_it_once(client, office_manager):
    quote = small()
    client.force_login(office_manager)
    asked = {"recipient": "ada@example.com", "expires_on": quote.valid_until.isoformat()}

    answer = client.post(reverse("quotes:link-new", args=[quote.pk]), asked)

    page = answer.content.decode()
    address = re.search(r'id="address" value="([^"]+)" readonly', page)[1]
    token = urlsplit(address).path.split("/")[2]
    assert answer["Cache-Control"] == "no-store"
    assert client.get(urlsplit(address).path).status_code == 200
    mail = urlsplit(re.search(r'href="(mailto:[^"]+)"', page)[1].replace("&amp;", "&"))
    assert unquote(mail.path) == "ada@example.com"
    said = parse_qs(mail.query)
    assert said["subject"] == [f"Quote {quote.number}: {quote.title}"]
    assert address in said["body"][0]
    assert "\r\n" in said["body"][0]
    for later in (quote.get_absolute_url(), reverse("quotes:link-new", args=[quote.pk])):
        assert token not in client.get(later).content.decode()


def test_a_day_that_cannot_be_is_said_beside_the_field(client, office_manager):
    quote = small()
    client.force_login(office_manager)
    address = reverse("quotes:link-new", args=[quote.pk])

    answer = client.post(address, {"recipient": "Ada", "expires_on": "2020-01-01"})

    assert "Read 2020-01-01: expected a day from today" in text_of(answer)
    assert 'value="Ada"' in answer.content.decode()
    assert not QuoteLink.objects.exists()


def test_the_office_sees_who_signed_and_who_looked(client, office_manager):
    link, token = sent(by=office_manager)
    client.get(at("quote", token), headers={"user-agent": PHONE})
    client.post(at("sign", token), TYPED, headers={"user-agent": PHONE})
    client.force_login(office_manager)

    text = text_of(client.get(link.quote.get_absolute_url()))

    for said in ("Signed by Ada Lowell,", "ada@example.com", "2 visits", "read the quote", "Safari, iPhone"):
        assert said in text, said
    job = text_of(client.get(Job.objects.get().get_absolute_url()))
    assert "Signed by the customer: Ada Lowell" in job
    assert "Quote Q-1001, revision 1, signed" in job


def test_the_crew_does_not_get_the_signed_price(client, installer):
    from jobs.work.models import CrewMember

    sign(sent()[0])
    job = Job.objects.get()
    CrewMember.objects.create(job=job, person=installer)
    client.force_login(installer)

    assert "revision 1, signed" not in text_of(client.get(job.get_absolute_url()))
    document = Acceptance.objects.get().document
    assert client.get(document.get_absolute_url()).status_code == 404


def test_the_office_revokes_a_link(client, office_manager):
    link, token = sent(by=office_manager)
    client.force_login(office_manager)

    answer = client.post(reverse("quotes:link-revoke", args=[link.quote_id, link.pk]), follow=True)

    assert "revoked" in text_of(answer)
    assert "This link is closed" in text_of(client.get(at("quote", token)))
    assert QuoteLink.objects.get().revoked_by == office_manager


def test_a_link_is_revoked_by_its_own_quote_only(client, office_manager):
    link, _token = sent(by=office_manager)
    client.force_login(office_manager)
    assert client.post(reverse("quotes:link-revoke", args=[link.quote_id + 1, link.pk])).status_code == 404


def test_the_quotes_page_takes_the_same_queries_for_two_visits_and_for_twenty(client, office_manager):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    quote = small()
    client.force_login(office_manager)
    counts = []
    for visits in (2, 18):
        link, _token = sent(quote, by=office_manager)
        for _ in range(visits):
            services.visit_log(
                signable=QUOTE, link=link, what=LinkVisit.What.READ, agent="", staff=office_manager, at=now()
            )
        with CaptureQueriesContext(
            connection,
        ) as found:
            client.get(quote.get_absolute_url())
        counts.append(len(found))

    assert counts[0] == counts[1]


# --- Logs -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("GET /q/AbC-_123/ HTTP/1.1", "GET /q/…/ HTTP/1.1"),
        ('"https://example.com/q/AbC-_123/sign/" "Firefox"', '"https://example.com/q/…/sign/" "Firefox"'),
        ("Not Found: /q/AbC", "Not Found: /q/…"),
        ("/estimates/quotes/12/", "/estimates/quotes/12/"),
    ],
)
def test_tokens_are_left_out_of_what_is_logged(line, kept):
    assert masked(line) == kept


def test_a_fault_on_a_customers_page_does_not_log_the_token(client, settings, monkeypatch, capfd):
    """Through the handler of the settings, as it runs."""
    import logging.config

    _link, token = sent()
    monkeypatch.setattr(selectors, "state_of", lambda *given: 1 / 0)
    client.raise_request_exception = False
    logging.config.dictConfig(settings.LOGGING)
    try:
        assert client.get(at("quote", token)).status_code == 500
    finally:
        logged = capfd.readouterr().err
    assert "Internal Server Error: /q/…/" in logged
    assert token not in logged


def test_the_web_servers_own_log_leaves_tokens_out():
    """Its line names the address, and for every picture the page it stands on."""
    from gunicorn.config import Config

    from contracting.deploy.access_log import MaskedAccessLog

    config = Config()
    config.set("accesslog", "-")
    log = MaskedAccessLog(config).access_log
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    log.addHandler(handler)
    try:
        log.info('"%(r)s" "%(f)s"', {"r": "GET /q/AbC/ HTTP/1.1", "f": "https://example.com/q/AbC/"})
    finally:
        log.removeHandler(handler)

    assert written.getvalue() == '"GET /q/…/ HTTP/1.1" "https://example.com/q/…/"\n'
