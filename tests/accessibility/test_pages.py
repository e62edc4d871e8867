"""Every page type for office, owner and installer, at desk and phone width, under axe-core.

The pages show the invented company of the demo, with work at every stage. No finding of axe that it calls
serious or critical is allowed, nor headings out of order.
"""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse
from django.utils import timezone
from django.utils.http import urlencode

from contracting.customers.models import Contact, Customer
from contracting.documents.models import DocumentRequest
from contracting.staff.demo import load_company
from contracting.staff.models import User
from estimates.pricelists.demo import load_price_list
from estimates.pricelists.models import Material, Supplier
from estimates.quotes.calculation import calculate
from estimates.quotes.models import Estimate, Quote
from estimates.rooms.models import Room
from estimates.stock.models import Offcut
from jobs.billing.models import Invoice, Payment
from jobs.margins.demo import load_work
from jobs.photos.models import About, Photo
from jobs.schedule.models import Visit
from jobs.work.daily.services import Act, cost_log, note_log
from jobs.work.models import CrewMember, Job
from tests.estimates.quotes.changes.factories import draft as draft_change
from tests.estimates.quotes.changes.factories import issued as issued_change
from tests.estimates.quotes.changes.factories import sent as sent_change
from tests.estimates.quotes.signing.factories import sent
from tests.jobs.inspections.factories import inspected
from tests.jobs.photos.factories import photo
from tests.test_permissions import _names

from .conftest import findings

pytestmark = pytest.mark.django_db(transaction=True)

DESK, PHONE = (1360, 900), (390, 844)
# Answers that are no page of their own: files, parts of a page, and what is only posted to.
NOT_PAGES = {
    "health", "staff:sign-out", "staff:letterhead", "staff:person-pay-remove", "staff:labour-cost-remove",
    "customers:customer-remove", "customers:contact-remove", "customers:site-remove", "rooms:plan",
    "rooms:room-copy", "rooms:room-remove", "rooms:measuring-sheet", "quotes:room-takeoff",
    "quotes:room-in", "quotes:room-out",
    "pricelists:price-add", "pricelists:price-remove", "stock:offcut-take", "pricelists:export",
    "quotes:issue", "quotes:withdraw", "quotes:paper-again", "work:move", "work:crew-sheet",
    "work:purchase-list", "work:log-hours-repeat", "inspections:plan-make", "inspections:paper",
    "inspections:flood-start", "inspections:flood-end", "documents:download", "documents:retry",
    "margins:export", "quotes:link-revoke", "quotes:signed-again", "signing:quote-paper",
    "signing:signed-paper", "billing:release", "billing:paper-again", "changes:issue", "changes:discard",
    "changes:withdraw", "changes:revise", "changes:paper-again", "changes:signed-again",
    "changes:link-revoke", "change-signing:order-paper", "change-signing:signed-paper", "warranty:replace",
    "warranty:issue", "photos:uploads", "photos:upload", "photos:file", "photos:small", "photos:withdraw",
    "crew:act", "crew:acts", "crew:pulse", "crew:worker", "crew:manifest", "crew:look-at-seen",
    "punchlist:mend", "punchlist:accept", "punchlist:reject", "punchlist:withdraw", "punchlist:assign",
    "punchlist:paper", "punchlist:callback-plan", "punchlist:callback-found", "punchlist:callback-decide",
    "punchlist:callback-resolve", "punchlist:callback-reopen", "work:purchases-receive",
    "work:purchases-stock", "work:purchases-order", "work:purchases-order-rest",
    "work:purchases-order-strike", "work:purchases-invoice", "schedule:make", "schedule:add",
    "schedule:undo", "schedule:look", "schedule:drop", "schedule:day-off-remove", "schedule:feed-make",
    "schedule:feed-revoke", "schedule:feed",
}  # fmt: skip


# The demo's pages by the name of their address; others need no object.
OBJECTS: dict[str, Callable[[], list[Any]]] = {
    "staff:person-edit": lambda: [User.objects.get(username="sam").pk],
    "staff:person-pay": lambda: [User.objects.get(username="sam").pk],
    "customers:customer": lambda: [Contact.objects.earliest("pk").customer_id],
    "customers:customer-edit": lambda: [Customer.objects.earliest("pk").pk],
    "customers:contact-new": lambda: [Customer.objects.earliest("pk").pk],
    "customers:contact-edit": lambda: [Contact.objects.earliest("pk").pk],
    "customers:site-new": lambda: [Customer.objects.earliest("pk").pk],
    "customers:site": lambda: [_job().site_id],
    "customers:site-edit": lambda: [_job().site_id],
    "rooms:rooms": lambda: [_job().site_id],
    "rooms:room-new": lambda: [_job().site_id],
    "rooms:room": lambda: [_room().pk],
    "rooms:room-edit": lambda: [_room().pk],
    "rooms:room-counts": lambda: [_room().pk],
    "pricelists:material": lambda: [Material.objects.filter(role="membrane").earliest("pk").pk],
    "pricelists:material-edit": lambda: [Material.objects.filter(role="tile").earliest("pk").pk],
    "pricelists:supplier": lambda: [Supplier.objects.earliest("pk").pk],
    "stock:offcut-edit": lambda: [_offcut().pk],
    "pricelists:supplier-edit": lambda: [Supplier.objects.earliest("pk").pk],
    "quotes:estimate-new": lambda: [_job().site_id],
    **{
        f"quotes:{name}": lambda: [_estimate().pk]
        for name in ("estimate", "estimate-rooms", "estimate-materials", "estimate-lines", "estimate-texts")
    },
    "quotes:estimate-changes": lambda: [_estimate().pk],
    "quotes:by-hand": lambda: [_estimate().pk],
    "quotes:quote": lambda: [_issued().pk],
    "quotes:decline": lambda: [_issued().pk],
    "quotes:link-new": lambda: [_issued().pk],
    **{f"signing:{name}": lambda: [sent(_issued())[1]] for name in ("quote", "sign", "decline")},
    **{f"billing:{name}": lambda: [_job().pk] for name in ("job", "new", "terms")},
    **{f"billing:{name}": lambda: [_invoice().pk] for name in ("invoice", "credit", "pay")},
    "billing:correct": lambda: [(paid := Payment.objects.earliest("pk")).invoice_id, paid.pk],
    **{f"changes:{name}": lambda: [_job().quote_id] for name in ("orders", "new")},
    **{f"changes:{name}": lambda: [draft_change(_job().quote).pk] for name in ("write", "measure")},
    **{
        f"changes:{name}": lambda: [issued_change(_job().quote).pk]
        for name in ("order", "sign", "declined", "link-new")
    },
    **{
        f"change-signing:{name}": lambda: [sent_change(issued_change(_job().quote))[1]]
        for name in ("order", "sign", "decline")
    },
    "warranty:job": lambda: [Job.objects.filter(stage="complete").latest("pk").pk],
    "work:sign": lambda: [_issued().pk],
    **{
        f"work:{name}": lambda: [_job().pk]
        for name in ("job", "plan", "offcuts", "log", "log-hours", "log-delivery")
    },
    **{f"work:{name}": lambda: [_job().pk] for name in ("log-cost", "log-progress", "log-note")},
    "work:purchases": lambda: [_job().pk],
    "work:log-hours-correct": lambda: [_job().pk, _job().hoursentry_set.earliest("pk").pk],
    "work:log-delivery-correct": lambda: [_job().pk, _job().deliveryentry_set.earliest("pk").pk],
    "work:log-cost-correct": lambda: [_job().pk, _job().costentry_set.earliest("pk").pk],
    "work:log-note-correct": lambda: [_job().pk, _job().daynote_set.earliest("pk").pk],
    "margins:job": lambda: [_job().pk],
    "margins:entries": lambda: [_job().pk],
    **{
        f"crew:{name}": lambda: [_job().pk]
        for name in (
            "job",
            "steps",
            "rooms",
            "cuts",
            "batches",
            "checks",
            "hours",
            "materials",
            "notes",
            "photos",
        )
    },
    "inspections:plan": lambda: inspected()[:1],
    "inspections:override": lambda: [*inspected()[:1], "tile"],
    "inspections:non-conformances": lambda: inspected()[:1],
    "inspections:non-conformance": lambda: [inspected()[0], inspected()[3]],
    "inspections:check": lambda: inspected()[:2],
    "inspections:correct": lambda: inspected()[:3],
    **{f"punchlist:{name}": lambda: [_punched().pk] for name in ("list", "item-new", "signed", "override")},
    "punchlist:item": lambda: [_punched().pk, 1],
    "punchlist:callbacks-of-job": lambda: [_called_back().pk],
    "punchlist:callback-new": lambda: [_called_back().pk],
    "punchlist:callback": lambda: [_called_back().pk, 1],
    **{
        f"punchlist:callback-{name}": lambda: [_called_back().pk, 1] for name in ("hours", "delivery", "cost")
    },
    "warranty:photos": lambda: [_photo().job_id],
    "photos:gallery": lambda: [_photo().job_id],
    "photos:add": lambda: [_photo().job_id],
    "photos:photo": lambda: [_photo().pk],
    "photos:describe": lambda: [_photo().pk],
    "schedule:job": lambda: [_visit().plan.job_id],
    "schedule:visit": lambda: [_visit().pk],
    "documents:document": lambda: [DocumentRequest.objects.earliest("pk").pk],
}


def _job() -> Job:
    return Job.objects.filter(stage="tile").latest("pk")


def _punched() -> Job:
    """The demo's job with a punch list."""
    return Job.objects.filter(punch_items__state="mended").latest("pk")


def _photo() -> Photo:
    return Photo.objects.order_by("pk")[1]


def _called_back() -> Job:
    return Job.objects.filter(callbacks__isnull=False).latest("pk")


def _invoice() -> Invoice:
    return Invoice.objects.filter(kind="invoice").earliest("pk")


def _offcut() -> Offcut:
    membrane = Material.objects.filter(role="membrane").earliest("pk")
    return Offcut.objects.create(
        material=membrane,
        width_typed="18 in",
        width_units=4_572_000,
        length_typed="6 ft",
        length_units=18_288_000,
    )


def _visit() -> Visit:
    return Visit.objects.filter(cancelled_at=None, plan__job__stage="membrane").latest("starts_at")


def _room() -> Room:
    return Room.objects.filter(fixtures__isnull=False, openings__isnull=False).distinct()[0]


def _estimate() -> Estimate:
    return Estimate.objects.filter(estimate_rooms__isnull=False, status="issued").latest("pk")


def _issued() -> Quote:
    return Quote.objects.filter(status="issued").earliest("pk")


def addresses() -> dict[str, str]:
    """Return an address of every page of the site by its name."""
    pages = {}
    for name in dict.fromkeys(_names(get_resolver())):
        if name not in NOT_PAGES:
            try:
                pages[name] = reverse(name, args=OBJECTS[name]() if name in OBJECTS else [])
            except NoReverseMatch:
                pytest.fail(f"Say in OBJECTS which object {name} shows, or in NOT_PAGES that it is no page.")
    line = calculate(_estimate()).priced.lines[0]
    pages["quotes:by-hand"] += "?" + urlencode({"key": line.key})
    return pages


def demo() -> dict[str, User]:
    people = load_company()
    load_price_list()
    load_work(people)
    inspected()
    act = {"job": _job(), "day": timezone.localdate(), "by": people["office"]}
    cost_log(act=Act(uuid.uuid4(), **act), step="tile", what="Skip", amount_cents=4_500)
    note_log(act=Act(uuid.uuid4(), **act), kind="weather", text="Frost in the morning.")
    for caption, arrows in (("", []), ("Lap at the curb", [[2000, 8000, 5000, 4000]])):
        photo(_job(), people["sam"], caption=caption, arrows=arrows, about=About.STEP, ref="waterproofing")
    for job in Job.objects.all():
        CrewMember.objects.get_or_create(job=job, person=people["sam"])
    return people


def test_no_page_has_a_serious_finding(browse) -> None:
    people = demo()
    said: list[str] = []
    seen: dict[str, set[str]] = {}
    for username in ("office", "owner", "sam"):
        for width, height in (DESK, PHONE):
            page = browse(people[username], width=width, height=height)
            for name, address in addresses().items():
                # What the owner sees as the office does is looked at once.
                if username == "owner" and name in seen["office"] and not name.startswith("margins:"):
                    continue
                answer = page.goto(address)
                assert answer.status in {200, 403, 404, 302}, (username, address, answer.status)
                if answer.status == 200:
                    seen.setdefault(username, set()).add(name)
                    said += look(page, f"{username} {width} {name}")
    stranger = browse(width=PHONE[0], height=PHONE[1])
    for address in ("/sign-in/", "/no-such-page/"):
        stranger.goto(address)
        said += look(stranger, f"stranger {address}")
    print("\n" + "\n".join(said))

    # Every page was looked at by somebody who may open it.
    assert set().union(*seen.values()) >= set(addresses()) - {"staff:sign-in"}
    assert said == []


def look(page: Any, where: str) -> list[str]:
    """Return what is wrong on a page: axe's serious findings, and what axe does not judge."""
    said = [
        f"{where}: {one['impact']} {one['id']} ×{len(one['nodes'])} {one['nodes'][0]['html'][:160]}"
        for one in findings(page)
        if one["impact"] in {"serious", "critical"} or one["id"] in {"heading-order", "page-has-heading-one"}
    ]
    if (page.locator("html").get_attribute("lang") or "")[:2] not in {"en", "es"}:
        said.append(f"{where}: no language")
    if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
        said.append(f"{where}: scrolls sideways")
    return said


def test_the_page_is_in_the_reader_s_language(client: Client) -> None:
    people = load_company()
    for username, language in (("sam", "en"), ("luis", "es")):
        client.force_login(people[username])
        assert f'<html lang="{language}">' in client.get("/").content.decode()
