"""What is measured: the figures that the product promises."""

import itertools
import statistics
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import partial
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler

from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.management import call_command
from django.core.servers.basehttp import ThreadedWSGIServer
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from contracting.customers.models import Site
from contracting.documents.models import DocumentRequest
from contracting.documents.services import document_request
from contracting.documents.tasks import render_document
from contracting.staff.demo import load_company
from contracting.staff.models import User
from estimates.pricelists.demo import load_price_list
from estimates.quotes.estimate_services import estimate_create
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_issue
from estimates.takeoff.run import run
from tests.conftest import CHROMIUM
from tests.contracting.factories import SiteFactory
from tests.estimates.quotes.factories import bath
from tests.estimates.rooms.factories import FLOOR, typed
from tests.estimates.takeoff.cast import house, materials

from .business import fill
from .measuring import Result, timed
from .offline import offline
from .record import record

START = datetime(2026, 12, 1, 8, tzinfo=UTC)
PLAN_MS, TAKEOFF_MS, LIST_MS, LIST_QUERIES, PAPER_MS = 50, 1000, 150, 20, 1500
LISTS = {
    "office": ("home", "customers:customers", "pricelists:materials", "pricelists:suppliers"),
    "owner": ("margins:margins", "staff:company"),
    "crew0": ("home", "work:jobs"),
}
QUOTING = ("quotes:estimates", "quotes:estimate-where", "quotes:quotes", "work:jobs")


def prepare() -> None:
    """Make the demo company, its prices, and one issued quote of a bath."""
    call_command("migrate", verbosity=0)
    people = load_company()
    load_price_list()
    site = SiteFactory(city="Exampleton")
    room = bath(site, by=people["office"])
    made = estimate_create(
        site=site, title="Bath", rooms=[room], by=people["office"], on=timezone.localdate()
    )
    quote_issue(estimate=made, by=people["office"], at=timezone.now())


def signed_in(username: str) -> Client:
    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.get(username=username))
    return client


def plan(count: int) -> Iterator[Result]:
    """The server's part of redrawing the plan: the whole request, middleware to template."""
    client = signed_in("office")
    address = reverse("rooms:plan", args=[Site.objects.earliest("pk").pk])
    for name, walk in (("a bath", "8' 5' 8' 5'"), ("an L-shaped room", "10' x 8' less 4' x 3'")):
        form = typed(outline_text=walk, **FLOOR) | {"width": "150"}
        assert client.post(address, form).status_code == 200
        yield timed(
            f"plan redraw, server, {name}", PLAN_MS, lambda form=form: client.post(address, form), times=31
        )


def takeoff(count: int) -> Iterator[Result]:
    rooms, offered = house(10), materials()

    def cold() -> None:
        run(rooms, offered, start=START)

    yield timed("takeoff of a ten-room house", TAKEOFF_MS, cold, times=3)


def lists(count: int) -> Iterator[Result]:
    fill(Quote.objects.earliest("pk").snapshot, count)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    pages = [(who, name, "") for who, names in LISTS.items() for name in names]
    pages += [("office", name, "") for name in QUOTING]
    # The last page, a search that finds much, and every stage.
    pages += [("office", name, "?page=100") for name in ("customers:customers", "quotes:quotes")]
    pages += [
        ("office", name, "?q=example")
        for name in ("customers:customers", "quotes:estimates", "quotes:quotes")
    ]
    pages += [("office", "work:jobs", "?stage=&page=100"), ("office", "work:jobs", "?q=bath&stage=")]
    for who, name, query in pages:
        client, address = signed_in(who), reverse(name) + query
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address).status_code == 200, address
        # Taken now, since the next request empties the log.
        asked = len(queries)
        yield timed(f"{name}{query} as {who}", LIST_MS, partial(client.get, address), times=9)
        yield Result("    its queries", "queries", LIST_QUERIES, asked)


def paper(count: int) -> Iterator[Result]:
    """A quote's paper as the worker's task makes it, from the claimed row to the stored file."""
    quote = Quote.objects.filter(document__isnull=False).earliest("pk")
    numbers = itertools.count()

    def ask() -> DocumentRequest:
        # Another snapshot each time, since asking for the same one gives the paper there is.
        snapshot = {**quote.document.snapshot, "benchmark": next(numbers)}
        kind, by = quote.document.kind, quote.issued_by
        return document_request(kind=kind, snapshot=snapshot, subject="Benchmark", audience="office", by=by)

    def made() -> None:
        row = ask()
        render_document(row.pk)
        row.refresh_from_db()
        assert row.is_done, row.error

    yield timed("quote PDF of a bath, the worker's task", PAPER_MS, made, times=5)


class _Quiet(WSGIRequestHandler):
    def log_message(self, *args: object) -> None:
        pass


REDRAWN = """() => new Promise(done => {
  const line = document.getElementById('id_outline_text'), plan = document.getElementById('part-drawing');
  const set = window.setTimeout;
  let began = 0;
  // The pause after the last key is no part of the redraw: its clock starts when the pause is over.
  window.setTimeout = (work, wait) => set(() => { began = began || performance.now(); work(); }, wait);
  new MutationObserver((_, seen) => {
    if (!plan.querySelector('svg')) return;
    seen.disconnect();
    window.setTimeout = set;
    plan.getBoundingClientRect();  // laid out, as it will be seen
    done(performance.now() - began);
  }).observe(plan, { childList: true, subtree: true });
  line.value = line.value.endsWith("1/4") ? "8' 5' 8' 5'" : "8' 5' 8' 5' 0 1/4";
  line.dispatchEvent(new Event('input', { bubbles: true }));
})"""


def browser(count: int) -> Iterator[Result]:
    """From the end of the pause after a key to the new drawing laid out, in Chromium, server and all."""
    if CHROMIUM is None:
        print("Chromium is not installed; the redraw in the browser is not measured.")
        return
    from playwright.sync_api import sync_playwright

    client = signed_in("office")
    application = get_wsgi_application()
    server = ThreadedWSGIServer(("127.0.0.1", 0), _Quiet, connections_override=None)
    server.set_app(_clocked(StaticFilesHandler(application)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{server.server_port}"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = chromium.new_context(base_url=address, viewport={"width": 1360, "height": 900})
        session = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": address}])
        page = context.new_page()
        page.goto(reverse("rooms:room-new", args=[Site.objects.earliest("pk").pk]))
        page.locator("#id_outline_text").fill("8' x 5'")
        page.locator("#part-drawing svg").first.wait_for()
        page.get_by_role("button", name="Bathroom with tub").click()
        page.locator("#surfaces-3-row").wait_for()
        page.wait_for_timeout(800)
        devtools = context.new_cdp_session(page)
        devtools.send("Performance.enable", {"timeDomain": "threadTicks"})
        before, answered = _main_thread_ms(devtools), len(SERVER_MS)
        taken = [page.evaluate(REDRAWN) for _ in range(25)]
        spent = (_main_thread_ms(devtools) - before + sum(SERVER_MS[answered:])) / len(taken)
        chromium.close()
    server.shutdown()
    yield Result("plan redraw in the browser, whole bath", "ms", PLAN_MS, statistics.median(taken), spent)


def _main_thread_ms(devtools: Any) -> float:
    """Return the processor time of the page's main thread so far: script, parsing, layout, painting."""
    told = devtools.send("Performance.getMetrics")["metrics"]
    return float(next(one["value"] for one in told if one["name"] == "TaskDuration")) * 1000


# The processor time of each answer of this process's own server.
SERVER_MS: list[float] = []


def _clocked(application: Callable[..., Any]) -> Callable[..., Any]:
    def answer(environ: Any, start: Any) -> Any:
        began = time.thread_time()
        answered = application(environ, start)
        SERVER_MS.append((time.thread_time() - began) * 1000)
        return answered

    return answer


CASES: dict[str, Callable[[int], Iterator[Result]]] = {
    "plan": plan,
    "browser": browser,
    "takeoff": takeoff,
    "paper": paper,
    "record": record,
    "lists": lists,
    "offline": offline,
}
