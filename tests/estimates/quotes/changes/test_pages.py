"""The pages of change orders: from the first word to the customer's signature, in few queries."""

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from contracting.private_links import masked
from estimates.quotes.changes.models import ChangeOrder, ChangeVisit
from jobs.work.models import CrewMember

from .factories import draft, issued, job_of_lines, job_of_rooms, line, measured_again, sent, sign, signed

pytestmark = pytest.mark.django_db


def typed(**values: str) -> dict[str, str]:
    """A draft with one line, as a browser sends it."""
    given = {
        "title": "A niche",
        "reason": "The owner asked for it.",
        "work_days": "-1",
        "pay_when": "done",
        "revision": "1",
        "line-TOTAL_FORMS": "2",
        "line-INITIAL_FORMS": "0",
        "line-0-sign": "-1",
        "line-0-text": "No accent band",
        "line-0-step": "tile",
        "line-0-quantity": "2.5",
        "line-0-unit": "ft",
        "line-0-price": "12.50",
        "line-0-minutes": "1.5",
        "line-1-sign": "1",
        "line-1-step": "tile",
    }
    return given | values


def test_from_the_first_word_to_an_issued_change(client, office_manager):
    job = job_of_lines()
    client.force_login(office_manager)
    asked = {"title": "A niche", "reason": "The owner asked for it."}
    client.post(reverse("changes:new", args=[job.quote_id]), asked)
    order = ChangeOrder.objects.get()
    write = reverse("changes:write", args=[order.pk])
    assert "The owner asked for it." in client.get(write).content.decode()
    assert client.post(write, typed()).url == write
    order.refresh_from_db()
    # By hand: 2.5 ft at 12.50 taken away.
    assert (order.price_cents, order.work_days, order.pay_when) == (-3_125, -1, "done")
    page = client.get(write).content.decode()
    assert "−$31.25" in page
    assert "Taken out:" in page

    answer = client.post(reverse("changes:issue", args=[order.pk]), {"valid_until": ""})
    assert answer.url == reverse("changes:order", args=[order.pk])
    page = client.get(answer.url).content.decode()
    assert "1 working day less" in page
    assert client.get(write).url == answer.url
    assert "CO-1" in client.get(reverse("changes:orders", args=[job.quote_id])).content.decode()


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"line-0-text": ""}, "Say what this line is for"),
        ({"line-0-price": ""}, "Say what the customer pays for it"),
        ({"line-0-price": "12,5x"}, "expected an amount such as"),
        ({"line-0-packs": "2"}, "A material of the list needs its packs"),
        ({"line-0-minutes": "soon"}, "A number of hours was expected"),
        ({"title": ""}, "This field is required"),
        ({"work_days": "400"}, "less than or equal to 365"),
        ({"revision": "9"}, "Somebody else saved this change order"),
    ],
)
def test_what_is_typed_wrong_is_told_in_place_and_not_lost(client, office_manager, values, sentence):
    order = draft(job_of_lines().quote)
    client.force_login(office_manager)
    sent_values = typed(revision=str(order.revision), **{"line-0-unit": "cubits"}) | values
    page = client.post(reverse("changes:write", args=[order.pk]), sent_values).content.decode()

    assert sentence in page
    assert "cubits" in page
    assert ChangeOrder.objects.get().lines.get().text == "Niche in the shower wall"


def test_rooms_are_taken_over_by_ticking_them(client, office_manager):
    job = job_of_rooms()
    order = draft(job.quote)
    room = measured_again(job.quote.estimate.estimate_rooms.get().room)
    client.force_login(office_manager)
    where = reverse("changes:measure", args=[order.pk])
    client.post(where, {"revision": order.revision, "rooms": [room.pk]})
    page = client.get(reverse("changes:write", args=[order.pk])).content.decode()
    assert "As measured now" in page
    order.refresh_from_db()
    assert order.measured["rooms"][0]["name"] == room.name
    client.post(where, {"revision": order.revision})
    order.refresh_from_db()
    assert order.measured == {}


def test_an_empty_change_says_what_is_missing(client, office_manager):
    job = job_of_lines()
    client.force_login(office_manager)
    client.post(reverse("changes:new", args=[job.quote_id]), {"title": "A", "reason": "B"})
    answer = client.post(reverse("changes:issue", args=[ChangeOrder.objects.get().pk]))
    assert "There is nothing in this change order yet" in str(next(iter(get_messages(answer.wsgi_request))))


def test_the_customer_reads_price_and_no_cost_signs_and_is_shown_the_signature(client):
    order = issued(job_of_lines().quote, line(minutes=195, labour_cents=7_777))
    _link, token = sent(order)
    where = reverse("change-signing:order", args=[token])
    page = client.get(where).content.decode()
    assert "$350.00" in page
    for secret in ("77.77", "3:15", "80.00"):
        assert secret not in page
    answer = client.post(
        reverse("change-signing:sign", args=[token]),
        {"consents": "on", "name": "Ada Lowell", "kind": "typed", "drawing": ""},
    )
    assert answer.url == where
    page = client.get(where).content.decode()
    assert "Accepted and signed" in page
    assert "Ada Lowell" in page
    assert set(ChangeVisit.objects.values_list("what", flat=True)) == {"read", "accepted"}


def test_declined_superseded_and_wrong_links_say_so_and_no_more(client):
    order = issued(job_of_lines().quote)
    _link, token = sent(order)
    client.post(reverse("change-signing:decline", args=[token]), {"reason": "Too dear."})
    page = client.get(reverse("change-signing:order", args=[token])).content.decode()
    assert "You have declined" in page
    assert "350" not in page
    assert client.get(reverse("change-signing:order", args=["no-such-token"])).status_code == 404


def test_a_token_is_kept_out_of_logs():
    address = reverse("change-signing:sign", args=["Secret-123"])
    assert "Secret" not in masked(f"GET {address} HTTP/1.1")


def test_installers_see_what_changed_without_money(client, office_manager, installer):
    job = job_of_lines()
    CrewMember.objects.create(job=job, person=installer)
    signed(job.quote, line(text="Niche in the shower wall"))
    issued(job.quote, line(text="A bench, not signed yet"))
    client.force_login(installer)
    page = client.get(reverse("work:job", args=[job.pk])).content.decode()
    assert "Niche in the shower wall" in page
    assert "+2:00" in page
    assert "A bench" not in page
    assert "$" not in page
    assert client.get(reverse("changes:orders", args=[job.quote_id])).status_code == 403
    client.force_login(office_manager)
    page = client.get(reverse("work:job", args=[job.pk])).content.decode()
    assert "Contract sum" in page


@pytest.mark.parametrize("count", [2, 12])
def test_the_list_takes_the_same_queries_however_many(
    client, office_manager, count, django_assert_num_queries
):
    job = job_of_lines()
    for at in range(count):
        issued(job.quote, line(price_cents=100 * at))
    client.force_login(office_manager)
    with django_assert_num_queries(4):
        client.get(reverse("changes:orders", args=[job.quote_id]))


@pytest.mark.parametrize("count", [2, 12])
def test_a_change_s_page_takes_the_same_queries_however_often_it_was_sent(
    client, office_manager, count, django_assert_max_num_queries
):
    job = job_of_lines()
    order = issued(job.quote, *(line(text=f"Line {at}") for at in range(count)))
    for _ in range(count):
        sent(order)
    client.force_login(office_manager)
    with django_assert_max_num_queries(14) as counted:
        client.get(reverse("changes:order", args=[order.pk]))
    assert len(counted) == 6


def test_a_signed_change_shows_the_evidence(client, office_manager):
    order = issued(job_of_lines().quote)
    acceptance = sign(sent(order)[0])
    client.force_login(office_manager)
    page = client.get(reverse("changes:order", args=[order.pk])).content.decode()
    assert acceptance.paper_sha256 in page
    assert "This was added to the job" in page
