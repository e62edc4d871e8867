"""One walk through a running installation from outside, over HTTP alone, as an office would go."""

import io
import re
import secrets
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from pypdf import PdfReader

from .visitor import Visitor

PATIENCE_SECONDS = 60
# By name, since this layer imports nothing of the estimates.
PRICES = "estimates.pricelists.demo"


def walk(port: int, environment: Mapping[str, str]) -> Iterator[str]:
    """Go through an installation with an empty database; yield a sentence for each thing that held.

    Raises:
        AssertionError: something does not hold.
    """
    password = secrets.token_urlsafe(16)
    owner = {**environment, "DJANGO_SUPERUSER_PASSWORD": password}
    _manage(owner, "createsuperuser", "--noinput", "--username", "owner", "--email", "owner@tile.example")
    # An invented price list; typing each material into its form would try nothing of the deployment.
    _manage(environment, "shell", "-c", f"from {PRICES} import load_price_list; load_price_list()")
    visitor = Visitor(port)
    _hold(visitor.get("/health/").text == "ok", "the health check answers")
    _hold(_is_compressed_static(visitor), "static files are served under the name of their content")
    yield "The site answers, with its health check and its static files."

    visitor.get("/")
    _hold(visitor.address.startswith("/sign-in/"), "a stranger is sent to the sign-in page")
    visitor.post("/sign-in/", username="owner", password=password, next="/")
    _hold(visitor.address == "/", "the owner signs in")
    yield "The first owner signs in."

    company = {
        "name": "Invented Tile", "ink_colour": "#204060", "overhead_basis_points": "12",
        "margin_basis_points": "30", "minimum_charge_cents": "0", "deposit_basis_points": "30",
        "validity_days": "30", "terms": "Net 10 days.",
    }  # fmt: skip
    visitor.get("/company/edit/").post("/company/edit/", **company)
    _hold("Invented Tile" in visitor.text, "the company is saved")
    visitor.post("/company/paper/")
    pdf = fetch_pdf(visitor, visitor.address)
    yield f"A worker made the company's paper: {len(pdf)} bytes of PDF."
    yield from _quote(visitor)


def _quote(visitor: Visitor) -> Iterator[str]:
    """From a measuring tape to a quote's PDF."""
    visitor.get("/company/hours/new/").fill(
        pay_cents="33.00", burden_basis_points="28.5", starts_on="2025-01-01"
    )
    visitor.get("/estimates/new/").fill("/estimates/new/", name="A. Sample", street="14 Quarry Lane")
    site = visitor.address.strip("/").rsplit("/", 1)[-1]
    _hold(site.isdecimal(), f"a new customer with a site is stored: {visitor.address}")

    visitor.get(f"/rooms/site/{site}/new/")
    visitor.fill(name="Hall bath", height="8'", outline_text="8'0  5'0  8'0 1/4  5'0", starter="tub-bath")
    visitor.fill(save="1")
    _hold(
        "Hall bath" in visitor.text and "/new/" not in visitor.address, f"the room is stored: {visitor.text}"
    )
    yield "A bath was measured by walking its walls, which close within 1/4 in."

    visitor.get(f"/estimates/new/{site}/").fill()
    estimate = visitor.address
    _hold("Hall bath" in visitor.text, f"the room is in the estimate: {visitor.text}")
    visitor.post(f"{estimate}issue/")
    _hold("/quotes/" in visitor.address, f"the quote is issued: {visitor.text}")
    numbers = re.findall(r"Q-\d+", visitor.text)
    _hold(bool(numbers), "the quote has a number")
    pdf = fetch_pdf(visitor, visitor.address)
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    for word in ("Invented Tile", "A. Sample", "Hall bath", numbers[0], "$"):
        _hold(word in text, f"the quote's pages say {word}")
    yield f"Quote {numbers[0]} is issued; its PDF ({len(pdf)} bytes) names room, customer and sum."


def fetch_pdf(visitor: Visitor, page: str) -> bytes:
    """Wait on a document's progress page until it is ready, and return the file."""
    end = time.monotonic() + PATIENCE_SECONDS
    while "file.pdf" not in visitor.get(page).text:
        _hold("box stop" not in visitor.text, f"the document is made: {visitor.text}")
        _hold(time.monotonic() < end, f"the document is made within {PATIENCE_SECONDS} s")
        time.sleep(0.3)
    pdf = visitor.get(visitor.link(r"file\.pdf$")).body
    _hold(pdf.startswith(b"%PDF-"), "the file is a PDF")
    return pdf


def _manage(environment: Mapping[str, str], *command: str) -> None:
    subprocess.run(  # noqa: S603 - fixed commands of our own
        [sys.executable, "manage.py", *command],
        cwd=Path(__file__).parent.parent.parent,
        env=dict(environment),
        check=True,
        stdout=subprocess.DEVNULL,
    )


def _is_compressed_static(visitor: Visitor) -> bool:
    sheet = visitor.get("/sign-in/").link(r"ledger\.[0-9a-f]+\.css$")
    visitor.get(sheet)
    return "immutable" in visitor.headers.get("Cache-Control", "")


def _hold(fact: bool, sentence: str) -> None:
    if not fact:
        raise AssertionError(f"This does not hold: {sentence}.")
