"""Who may open what: every address of the site by role, as one table.

``TABLE`` maps a URL name to its rows. A row is a method and what each role gets:
``(method, owner, office, installer, stranger)``. An address that needs an object gets one from ``OBJECTS``,
which maps the URL name to a function that makes it and returns the arguments of the address; the codes are
then those of that object. Where an app's ``policies`` hide an object from a role, the code is 404.

A stranger, who has not signed in, is sent to the sign-in page (302) unless a page is for everyone. A POST is
sent empty: 200 is the form again with its errors, 302 is done.

``test_the_table_is_complete`` fails when an address of the site is missing here.
"""

import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLResolver, get_resolver, reverse

from contracting.documents.models import DocumentRequest
from contracting.staff.checks import url_patterns
from contracting.staff.models import LabourCost
from estimates.pricelists.models import Price
from jobs.work.models import Job
from tests.contracting.factories import CustomerFactory, SiteFactory, UserFactory
from tests.estimates.pricelists.factories import MaterialFactory, SupplierFactory
from tests.estimates.quotes.changes.factories import draft as draft_change
from tests.estimates.quotes.changes.factories import issued as issued_change
from tests.estimates.quotes.changes.factories import job_of_lines
from tests.estimates.quotes.changes.factories import sent as sent_change
from tests.estimates.quotes.factories import estimate_of, repair_quote
from tests.estimates.quotes.signing.factories import sent
from tests.estimates.rooms.factories import room as measured_room
from tests.jobs.billing.factories import invoice as issued_invoice
from tests.jobs.billing.factories import job as billed_job
from tests.jobs.billing.factories import pay as paid_invoice
from tests.jobs.crew.factories import left_to_look_at
from tests.jobs.inspections.factories import inspected
from tests.jobs.margins.factories import job as budgeted_job
from tests.jobs.margins.factories import logged_job, own_pay
from tests.jobs.photos.factories import photo as taken_photo
from tests.jobs.punchlist.factories import called_back, listed_job
from tests.jobs.schedule.factories import addresses as on_the_calendar
from tests.jobs.warranty.factories import issued as warranty_record
from tests.jobs.work.factories import job as sold_job
from tests.jobs.work.factories import signed_quote

pytestmark = pytest.mark.django_db

Row = tuple[str, int, int, int, int]
ROLES = ("owner", "office", "installer", "stranger")
GET, POST = "get", "post"

OFFICE_PAGE: Row = (GET, 200, 200, 403, 302)
OFFICE_ACT: Row = (POST, 302, 302, 403, 302)
OFFICE_FORM: list[Row] = [OFFICE_PAGE, (POST, 200, 200, 403, 302)]
OWNER_FORM: list[Row] = [(GET, 200, 403, 403, 302), (POST, 200, 403, 403, 302)]
CREW_PAGE: Row = (GET, 200, 200, 200, 302)
CREW_FORM: list[Row] = [CREW_PAGE, (POST, 200, 200, 200, 302)]
OTHERS_JOB_FORM: list[Row] = [(GET, 200, 200, 404, 302), (POST, 200, 200, 404, 302)]

TABLE: dict[str, list[Row]] = {
    "home": [CREW_PAGE],
    "health": [(GET, 200, 200, 200, 200)],
    # contracting.staff
    "staff:sign-in": [(GET, 302, 302, 302, 200), (POST, 302, 302, 302, 200)],
    "staff:sign-out": [(GET, 405, 405, 405, 405), (POST, 302, 302, 302, 302)],
    "staff:preferences": CREW_FORM,
    "staff:password": CREW_FORM,
    "staff:company": [OFFICE_PAGE],
    "staff:company-edit": OWNER_FORM,
    "staff:letterhead": [OFFICE_ACT],
    "staff:person-new": OWNER_FORM,
    "staff:person-edit": OWNER_FORM,
    "staff:person-pay": OWNER_FORM,
    "staff:person-pay-remove": [(POST, 302, 403, 403, 302)],
    "staff:labour-cost-new": OFFICE_FORM,
    "staff:labour-cost-remove": [OFFICE_ACT],
    # contracting.customers
    "customers:customers": [OFFICE_PAGE],
    "customers:customer-new": OFFICE_FORM,
    "customers:customer": [OFFICE_PAGE],
    "customers:customer-edit": OFFICE_FORM,
    "customers:customer-remove": [OFFICE_ACT],
    "customers:contact-new": OFFICE_FORM,
    "customers:contact-edit": OFFICE_FORM,
    "customers:contact-remove": [OFFICE_ACT],
    "customers:site-new": OFFICE_FORM,
    "customers:site": [OFFICE_PAGE],
    "customers:site-edit": OFFICE_FORM,
    "customers:site-remove": [OFFICE_ACT],
    # estimates.rooms: everybody who works here may look, the office measures.
    "rooms:rooms": [CREW_PAGE],
    "rooms:room": [CREW_PAGE],
    "rooms:room-new": OFFICE_FORM,
    "rooms:room-edit": OFFICE_FORM,
    "rooms:room-counts": OFFICE_FORM,
    "rooms:plan": [(POST, 200, 200, 403, 302)],
    "rooms:room-copy": [OFFICE_ACT],
    "rooms:room-remove": [OFFICE_ACT],
    "rooms:measuring-sheet": [OFFICE_ACT],
    # What an estimate says about one room; without that estimate there is nothing to see.
    "quotes:room-takeoff": [(GET, 404, 404, 403, 302)],
    # estimates.pricelists: prices are for the office.
    "pricelists:materials": [OFFICE_PAGE],
    "pricelists:material-new": OFFICE_FORM,
    "pricelists:material": [OFFICE_PAGE],
    "pricelists:material-edit": OFFICE_FORM,
    "pricelists:price-add": [(POST, 200, 200, 403, 302)],
    "pricelists:price-remove": [OFFICE_ACT],
    "stock:offcuts": [OFFICE_PAGE],
    "stock:offcut-new": OFFICE_FORM,
    "stock:offcut-edit": OFFICE_FORM,
    "stock:offcut-take": [OFFICE_ACT],
    "pricelists:suppliers": [OFFICE_PAGE],
    "pricelists:supplier-new": OFFICE_FORM,
    "pricelists:supplier": [OFFICE_PAGE],
    "pricelists:supplier-edit": OFFICE_FORM,
    "pricelists:import": OFFICE_FORM,
    "pricelists:export": [OFFICE_PAGE],
    # estimates.practice: how the company works is for the office too.
    "practice:settings": OFFICE_FORM,
    "practice:rates": OFFICE_FORM,
    "practice:factors": OFFICE_FORM,
    "practice:calendar": OFFICE_FORM,
    "practice:changes": [OFFICE_PAGE],
    # estimates.quotes: every page of it shows money.
    "quotes:estimates": [OFFICE_PAGE],
    "quotes:estimate-where": OFFICE_FORM,
    "quotes:estimate-new": OFFICE_FORM,
    "quotes:estimate": OFFICE_FORM,
    "quotes:estimate-rooms": OFFICE_FORM,
    "quotes:room-in": [OFFICE_ACT],
    "quotes:room-out": [OFFICE_ACT],
    "quotes:estimate-materials": OFFICE_FORM,
    "quotes:estimate-lines": OFFICE_FORM,
    "quotes:estimate-texts": OFFICE_FORM,
    # Without the key of a line there is no figure to set.
    "quotes:by-hand": [(GET, 404, 404, 403, 302), (POST, 404, 404, 403, 302)],
    "quotes:estimate-changes": [OFFICE_PAGE],
    "quotes:issue": [OFFICE_ACT],
    "quotes:quotes": [OFFICE_PAGE],
    "quotes:quote": [OFFICE_PAGE],
    "quotes:decline": OFFICE_FORM,
    "quotes:withdraw": [OFFICE_ACT],
    "quotes:paper-again": [OFFICE_ACT],
    "quotes:link-new": OFFICE_FORM,
    "quotes:link-revoke": [OFFICE_ACT],
    "quotes:signed-again": [OFFICE_ACT],
    # A private link opens for whoever has it; an answer by an empty form is asked for again.
    "signing:quote": [(GET, 200, 200, 200, 200), (POST, 405, 405, 405, 405)],
    "signing:sign": [(GET, 200, 200, 200, 200), (POST, 200, 200, 200, 200)],
    "signing:decline": [(GET, 200, 200, 200, 200), (POST, 200, 200, 200, 200)],
    # What is not made yet leads back to the quote.
    "signing:quote-paper": [(GET, 302, 302, 302, 302)],
    "signing:signed-paper": [(GET, 302, 302, 302, 302)],
    # estimates.quotes.changes: written by the office; an issued one is written no more.
    "changes:orders": [OFFICE_PAGE],
    "changes:new": OFFICE_FORM,
    "changes:write": OFFICE_FORM,
    # Without rooms ticked the measurements are taken out again.
    "changes:measure": [OFFICE_PAGE, (POST, 200, 200, 403, 302)],
    "changes:issue": [OFFICE_ACT],
    "changes:discard": [OFFICE_ACT],
    "changes:order": [OFFICE_PAGE],
    "changes:sign": OFFICE_FORM,
    "changes:declined": OFFICE_FORM,
    "changes:withdraw": [OFFICE_ACT],
    "changes:revise": [OFFICE_ACT],
    "changes:paper-again": [OFFICE_ACT],
    "changes:signed-again": [OFFICE_ACT],
    "changes:link-new": OFFICE_FORM,
    "changes:link-revoke": [OFFICE_ACT],
    "change-signing:order": [(GET, 200, 200, 200, 200), (POST, 405, 405, 405, 405)],
    "change-signing:sign": [(GET, 200, 200, 200, 200), (POST, 200, 200, 200, 200)],
    "change-signing:decline": [(GET, 200, 200, 200, 200), (POST, 200, 200, 200, 200)],
    "change-signing:order-paper": [(GET, 302, 302, 302, 302)],
    "change-signing:signed-paper": [(GET, 302, 302, 302, 302)],
    # jobs.work: an installer sees the jobs they are on, and this is none of theirs.
    "work:jobs": [CREW_PAGE],
    "work:job": [(GET, 200, 200, 404, 302)],
    "work:plan": OFFICE_FORM,
    "work:offcuts": [OFFICE_PAGE, OFFICE_ACT],
    "work:move": [OFFICE_ACT],
    "work:crew-sheet": [(POST, 302, 302, 404, 302)],
    "work:purchase-list": [(POST, 302, 302, 404, 302)],
    "work:sign": OFFICE_FORM,
    # The daily log: the crew of the job write it, costs are the office's.
    "work:log": [(GET, 200, 200, 404, 302)],
    "work:log-hours": OTHERS_JOB_FORM,
    "work:log-hours-repeat": [(POST, 302, 302, 404, 302)],
    "work:log-hours-correct": OTHERS_JOB_FORM,
    "work:log-delivery": OTHERS_JOB_FORM,
    "work:log-delivery-correct": OTHERS_JOB_FORM,
    "work:log-cost": OFFICE_FORM,
    "work:log-cost-correct": OFFICE_FORM,
    "work:log-progress": OTHERS_JOB_FORM,
    "work:log-note": OTHERS_JOB_FORM,
    "work:log-note-correct": OTHERS_JOB_FORM,
    # The purchase list: the crew see what comes and log it, orders and invoices are the office's.
    "work:purchases": [(GET, 200, 200, 404, 302)],
    "work:purchases-receive": [(POST, 200, 200, 404, 302)],
    "work:purchases-stock": [(POST, 200, 200, 404, 302)],
    "work:purchases-order": [(POST, 200, 200, 403, 302)],
    "work:purchases-order-rest": [(POST, 200, 200, 403, 302)],
    "work:purchases-order-strike": [(POST, 200, 200, 403, 302)],
    "work:purchases-invoice": [(POST, 200, 200, 403, 302)],
    # jobs.billing: invoices are the office's.
    "billing:invoices": [OFFICE_PAGE],
    "billing:job": [OFFICE_PAGE],
    "billing:new": OFFICE_FORM,
    "billing:terms": OFFICE_FORM,
    "billing:release": [OFFICE_ACT],
    "billing:invoice": [OFFICE_PAGE],
    "billing:credit": OFFICE_FORM,
    "billing:pay": OFFICE_FORM,
    "billing:correct": OFFICE_FORM,
    "billing:paper-again": [OFFICE_ACT],
    # jobs.margins: what a job earns is the owner's alone.
    "margins:margins": [(GET, 200, 403, 403, 302)],
    "margins:export": [(GET, 200, 403, 403, 302)],
    "margins:job": [(GET, 200, 403, 403, 302)],
    "margins:entries": [(GET, 200, 403, 403, 302)],
    # jobs.inspections: an installer who is not on the job is not told that it exists.
    "inspections:plan": [(GET, 200, 200, 404, 302)],
    "inspections:plan-make": [OFFICE_ACT],
    "inspections:paper": [OFFICE_ACT],
    "inspections:override": OFFICE_FORM,
    "inspections:non-conformances": [(GET, 200, 200, 404, 302)],
    "inspections:non-conformance": OTHERS_JOB_FORM,
    "inspections:check": OTHERS_JOB_FORM,
    "inspections:correct": OTHERS_JOB_FORM,
    "inspections:flood-start": [(POST, 200, 200, 404, 302)],
    "inspections:flood-end": [(POST, 200, 200, 404, 302)],
    # jobs.punchlist: the crew add and mend, the office accepts; an empty act is asked for again.
    "punchlist:every-list": [CREW_PAGE],
    "punchlist:list": [(GET, 200, 200, 404, 302)],
    "punchlist:item-new": OTHERS_JOB_FORM,
    "punchlist:item": [(GET, 200, 200, 404, 302)],
    "punchlist:mend": [(POST, 200, 200, 404, 302)],
    "punchlist:accept": [(POST, 200, 200, 403, 302)],
    "punchlist:reject": [(POST, 200, 200, 403, 302)],
    "punchlist:withdraw": [(POST, 200, 200, 403, 302)],
    "punchlist:assign": [(POST, 200, 200, 403, 302)],
    "punchlist:paper": [OFFICE_ACT],
    "punchlist:signed": OFFICE_FORM,
    "punchlist:override": OFFICE_FORM,
    "punchlist:callbacks": [CREW_PAGE],
    "punchlist:callbacks-of-job": [(GET, 200, 200, 404, 302)],
    "punchlist:callback-new": OTHERS_JOB_FORM,
    "punchlist:callback": [(GET, 200, 200, 404, 302)],
    "punchlist:callback-plan": [(POST, 200, 200, 403, 302)],
    "punchlist:callback-found": [(POST, 200, 200, 404, 302)],
    "punchlist:callback-decide": [(POST, 200, 200, 403, 302)],
    "punchlist:callback-resolve": [(POST, 200, 200, 404, 302)],
    "punchlist:callback-reopen": [(POST, 200, 200, 404, 302)],
    "punchlist:callback-hours": OTHERS_JOB_FORM,
    "punchlist:callback-delivery": OTHERS_JOB_FORM,
    "punchlist:callback-cost": OFFICE_FORM,
    # jobs.photos: a phone speaks JSON; an upload is its sender's alone.
    "photos:uploads": [(POST, 400, 400, 400, 302)],
    "photos:upload": [(GET, 404, 404, 404, 302)],
    "photos:gallery": [(GET, 200, 200, 404, 302)],
    "photos:add": OTHERS_JOB_FORM,
    "photos:photo": [(GET, 200, 200, 404, 302)],
    "photos:file": [(GET, 200, 200, 404, 302)],
    "photos:small": [(GET, 200, 200, 404, 302)],
    "photos:describe": OTHERS_JOB_FORM,
    "photos:withdraw": [(POST, 200, 200, 403, 302)],
    # jobs.schedule: an installer sees their own visits, reads their jobs, and has a feed of their own alone.
    "schedule:calendar": [CREW_PAGE],
    "schedule:job": [(GET, 200, 200, 404, 302)],
    "schedule:make": [(POST, 200, 200, 403, 302)],
    "schedule:add": [(POST, 200, 200, 403, 302)],
    "schedule:undo": [OFFICE_ACT],
    "schedule:visit": OFFICE_FORM,
    "schedule:look": [(POST, 200, 200, 403, 302)],
    "schedule:drop": [OFFICE_ACT],
    "schedule:days-off": OFFICE_FORM,
    "schedule:day-off-remove": [OFFICE_ACT],
    "schedule:feeds": [CREW_PAGE],
    # Somebody else's feed: an installer is not told whose it is.
    "schedule:feed-make": [(POST, 200, 200, 404, 302)],
    "schedule:feed-revoke": [(POST, 302, 302, 404, 302)],
    # Calendar programs read it by its private link, and nothing by a wrong one.
    "schedule:feed": [(GET, 200, 200, 200, 200), (POST, 405, 405, 405, 405)],
    # jobs.warranty: the office issues records, anybody verifies one.
    "warranty:photos": [OFFICE_PAGE, OFFICE_ACT],
    "warranty:verify": [(GET, 200, 200, 200, 200), (POST, 200, 200, 200, 200)],
    "warranty:records": [OFFICE_PAGE],
    "warranty:terms": OWNER_FORM,
    "warranty:job": [OFFICE_PAGE],
    "warranty:issue": [OFFICE_ACT],
    "warranty:replace": [(POST, 200, 200, 403, 302)],
    # jobs.crew: the phone's pages of one's own jobs; what phones left to look at is the office's.
    "crew:today": [CREW_PAGE],
    "crew:waiting": [CREW_PAGE],
    "crew:offline": [CREW_PAGE],
    **{
        f"crew:{name}": [(GET, 200, 200, 404, 302)]
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
    "crew:act": [(POST, 302, 302, 404, 302)],
    "crew:acts": [(POST, 400, 400, 400, 302)],
    "crew:pulse": [(GET, 200, 200, 200, 200)],
    "crew:worker": [(GET, 200, 200, 200, 200)],
    "crew:manifest": [(GET, 200, 200, 200, 200)],
    "crew:look-at": [OFFICE_PAGE],
    "crew:look-at-seen": [OFFICE_ACT],
    # contracting.documents: the sample is for the office only, so an installer is not told that it exists.
    "documents:document": [(GET, 200, 200, 404, 302)],
    "documents:download": [(GET, 404, 404, 404, 302)],
    "documents:retry": [(POST, 302, 302, 404, 302)],
}


def _customer() -> list[Any]:
    return [CustomerFactory().pk]


def _site() -> list[Any]:
    return [SiteFactory().pk]


def _contact() -> list[Any]:
    return [CustomerFactory().contacts.create(name="Oren").pk]


def _document() -> list[Any]:
    return [
        DocumentRequest.objects.create(
            kind="sample", subject="Sample", snapshot={}, snapshot_sha256="0" * 64, audience="office"
        ).pk
    ]


def _room() -> list[Any]:
    return [measured_room().pk]


def _labour_cost() -> list[Any]:
    row = LabourCost.objects.create(starts_on="2026-01-01", pay_cents_per_hour=3200, burden_basis_points=2850)
    return [row.pk]


def _material() -> list[Any]:
    return [MaterialFactory.create(cents=100).pk]


def _estimate() -> list[Any]:
    return [estimate_of(0).pk]


def _room_of_an_estimate() -> list[Any]:
    made = estimate_of(1)
    return [made.pk, made.estimate_rooms.get().room_id]


def _quote() -> list[Any]:
    return [repair_quote().pk]


def _link() -> list[Any]:
    link, _token = sent()
    return [link.quote_id, link.pk]


def _offcut() -> list[Any]:
    from estimates.stock.models import Offcut

    membrane = MaterialFactory.create(role="membrane", cents=100)
    return [Offcut.objects.create(material=membrane, width_units=1, length_units=1).pk]


def _sold() -> list[Any]:
    return [sold_job().pk]


def _budgeted() -> list[Any]:
    return [budgeted_job().pk]


def _logged(kind: str) -> list[Any]:
    job, entries = logged_job()
    return [job.pk, entries[kind].pk]


def _photo() -> list[Any]:
    return [taken_photo(Job.objects.get(pk=inspected()[0])).pk]


OBJECTS: dict[str, Callable[[], list[Any]]] = {
    **{
        f"schedule:{name}": lambda name=name: [on_the_calendar()[name]]
        for name in (
            "job",
            "make",
            "add",
            "undo",
            "visit",
            "look",
            "drop",
            "day-off-remove",
            "feed-make",
            "feed-revoke",
            "feed",
        )
    },
    "staff:person-edit": lambda: [UserFactory().pk],
    "staff:person-pay": lambda: [UserFactory().pk],
    "staff:person-pay-remove": lambda: [own_pay().pk],
    "staff:labour-cost-remove": _labour_cost,
    "customers:customer": _customer,
    "customers:customer-edit": _customer,
    "customers:customer-remove": _customer,
    "customers:contact-new": _customer,
    "customers:site-new": _customer,
    "customers:contact-edit": _contact,
    "customers:contact-remove": _contact,
    "customers:site": _site,
    "customers:site-edit": _site,
    "customers:site-remove": _site,
    "rooms:rooms": _site,
    "rooms:room-new": _site,
    "rooms:plan": _site,
    "rooms:measuring-sheet": _site,
    "rooms:room": _room,
    "rooms:room-edit": _room,
    "rooms:room-counts": _room,
    "rooms:room-copy": _room,
    "rooms:room-remove": _room,
    "quotes:room-takeoff": lambda: [1, 1],
    "quotes:room-in": _room_of_an_estimate,
    "quotes:room-out": _room_of_an_estimate,
    "pricelists:material": _material,
    "pricelists:material-edit": _material,
    "pricelists:price-add": _material,
    "pricelists:price-remove": lambda: [Price.objects.get(material=_material()[0]).pk],
    "pricelists:supplier": lambda: [SupplierFactory.create().pk],
    "pricelists:supplier-edit": lambda: [SupplierFactory.create().pk],
    "stock:offcut-edit": _offcut,
    "stock:offcut-take": _offcut,
    "quotes:estimate-new": _site,
    "quotes:estimate": _estimate,
    "quotes:estimate-rooms": _estimate,
    "quotes:estimate-materials": _estimate,
    "quotes:estimate-lines": _estimate,
    "quotes:estimate-texts": _estimate,
    "quotes:by-hand": _estimate,
    "quotes:estimate-changes": _estimate,
    "quotes:issue": _estimate,
    "quotes:quote": _quote,
    "quotes:decline": _quote,
    "quotes:withdraw": _quote,
    "quotes:paper-again": _quote,
    "quotes:link-new": _quote,
    "quotes:link-revoke": _link,
    "quotes:signed-again": _quote,
    **{
        f"signing:{page}": lambda: [sent()[1]]
        for page in ("quote", "sign", "decline", "quote-paper", "signed-paper")
    },
    "changes:orders": lambda: [job_of_lines().quote_id],
    "changes:new": lambda: [job_of_lines().quote_id],
    **{
        f"changes:{page}": lambda: [draft_change(job_of_lines().quote).pk]
        for page in ("write", "measure", "issue", "discard")
    },
    **{
        f"changes:{page}": lambda: [issued_change(job_of_lines().quote).pk]
        for page in (
            "order",
            "sign",
            "declined",
            "withdraw",
            "revise",
            "paper-again",
            "signed-again",
            "link-new",
        )
    },
    "changes:link-revoke": lambda: [(link := sent_change()[0]).order_id, link.pk],
    **{
        f"change-signing:{page}": lambda: [sent_change()[1]]
        for page in ("order", "sign", "decline", "order-paper", "signed-paper")
    },
    "work:job": _sold,
    "work:plan": _sold,
    "work:offcuts": _sold,
    "work:move": _sold,
    "work:crew-sheet": _sold,
    "work:purchase-list": _sold,
    "work:sign": lambda: [signed_quote().pk],
    "work:log": _budgeted,
    "work:log-hours": _budgeted,
    "work:log-hours-repeat": _budgeted,
    "work:log-hours-correct": lambda: _logged("hours"),
    "work:log-delivery": _budgeted,
    "work:log-delivery-correct": lambda: _logged("delivery"),
    "work:log-cost": _budgeted,
    "work:log-cost-correct": lambda: _logged("cost"),
    "work:log-progress": _budgeted,
    "work:log-note": _budgeted,
    "work:log-note-correct": lambda: _logged("note"),
    "work:purchases": _budgeted,
    **{
        f"work:purchases-{name}": _budgeted
        for name in ("receive", "stock", "order", "order-rest", "order-strike", "invoice")
    },
    **{f"billing:{page}": lambda: [billed_job().pk] for page in ("job", "new", "terms", "release")},
    **{
        f"billing:{page}": lambda: [issued_invoice().pk]
        for page in ("invoice", "credit", "pay", "paper-again")
    },
    "billing:correct": lambda: [(paid := paid_invoice(issued_invoice(), 100)).invoice_id, paid.pk],
    "margins:job": _budgeted,
    "margins:entries": _budgeted,
    "inspections:plan": lambda: inspected()[:1],
    "inspections:plan-make": lambda: inspected()[:1],
    "inspections:paper": lambda: inspected()[:1],
    "inspections:override": lambda: [*inspected()[:1], "tile"],
    "inspections:non-conformances": lambda: inspected()[:1],
    "inspections:non-conformance": lambda: [*inspected()[:1], inspected()[3]],
    "inspections:check": lambda: inspected()[:2],
    "inspections:correct": lambda: inspected()[:3],
    "inspections:flood-start": lambda: [inspected()[0], inspected()[4]],
    "inspections:flood-end": lambda: [inspected()[0], *inspected()[4:]],
    "photos:upload": lambda: [uuid.uuid4()],
    "photos:gallery": lambda: inspected()[:1],
    "photos:add": lambda: inspected()[:1],
    **{f"photos:{name}": _photo for name in ("photo", "file", "small", "describe", "withdraw")},
    **{
        f"punchlist:{name}": lambda: [listed_job()[0].pk]
        for name in ("list", "item-new", "signed", "override")
    },
    **{
        f"punchlist:{name}": lambda: [listed_job()[0].pk, 1]
        for name in ("item", "mend", "accept", "reject", "withdraw", "assign")
    },
    "punchlist:paper": _sold,
    "punchlist:callbacks-of-job": lambda: [called_back().job_id],
    "punchlist:callback-new": lambda: [called_back().job_id],
    "punchlist:callback": lambda: [called_back().job_id, 1],
    **{
        f"punchlist:callback-{name}": lambda: [called_back().job_id, 1]
        for name in ("plan", "found", "decide", "resolve", "reopen", "hours", "delivery", "cost")
    },
    "warranty:job": lambda: inspected()[:1],
    "warranty:issue": lambda: inspected()[:1],
    "warranty:photos": lambda: inspected()[:1],
    "warranty:replace": lambda: [warranty_record().pk],
    **{
        f"crew:{name}": _sold
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
    "crew:act": _budgeted,
    "crew:look-at-seen": lambda: [left_to_look_at().pk],
    "documents:document": _document,
    "documents:download": _document,
    "documents:retry": _document,
}


@pytest.mark.parametrize(
    ("name", "method", "role", "expected"),
    [
        pytest.param(name, method, role, code, id=f"{name}-{method}-{role}")
        for name, rows in TABLE.items()
        for method, *codes in rows
        for role, code in zip(ROLES, codes, strict=True)
    ],
)
def test_who_may_open_what(client: Client, name: str, method: str, role: str, expected: int) -> None:
    arguments = OBJECTS[name]() if name in OBJECTS else []
    if role != "stranger":
        client.force_login(UserFactory(role=role))

    answer = getattr(client, method)(reverse(name, args=arguments))

    assert answer.status_code == expected
    open_to_all = ("staff:sign", "signing:", "change-signing:")
    if role == "stranger" and expected == 302 and not name.startswith(open_to_all):
        assert answer.url.startswith(reverse("staff:sign-in"))


def test_the_table_is_complete() -> None:
    unnamed = [address for address, pattern in url_patterns() if not pattern.name]

    assert unnamed == []
    assert set(_names(get_resolver())) == set(TABLE)


def _names(resolver: URLResolver) -> Iterator[str]:
    """Yield the name of every address below *resolver*, as reverse() takes it."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from (f"{entry.namespace}:{name}" if entry.namespace else name for name in _names(entry))
        else:
            yield entry.name or ""
