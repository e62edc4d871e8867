"""One walk through a running installation from outside, over HTTP alone, as an office would go."""

import http.client
import re
import secrets
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from html import unescape
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode, urlsplit

PATIENCE_SECONDS = 60


class Visitor:
    """A browser without a window: it keeps cookies, sends the form token, and follows where it is sent.

    It speaks as a proxy in front of the web server does: plain HTTP with the note that outside it was TLS.
    """

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookies: dict[str, str] = {}
        self.address = "/"
        self.text = ""
        self.body = b""
        self.headers: dict[str, str] = {}

    def get(self, address: str) -> "Visitor":
        return self._ask("GET", address)

    def post(self, address: str, **fields: str) -> "Visitor":
        """Send a form, with the token of the page that is open."""
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', self.text)
        if token:
            fields["csrfmiddlewaretoken"] = token[1]
        return self._ask("POST", address, urlencode(fields))

    def link(self, pattern: str) -> str:
        """Return the first address on the open page that matches *pattern*."""
        for found in re.findall(r'(?:href|action|hx-get)="([^"]+)"', self.text):
            if re.search(pattern, found):
                return unescape(str(found))
        raise LookupError(f"No link like {pattern} at {self.address}:\n{self.text[:3000]}")

    def _ask(self, method: str, address: str, body: str | None = None, jumps: int = 5) -> "Visitor":
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {
            "Host": "localhost",
            "X-Forwarded-Proto": "https",
            "Referer": "https://localhost/",
            "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
        }
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, address, body, headers)
        answer = connection.getresponse()
        self.body, self.address, self.headers = answer.read(), address, dict(answer.getheaders())
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        connection.close()
        if answer.status in {301, 302} and jumps:
            to = urlsplit(self.headers["Location"])
            return self._ask("GET", to.path + (f"?{to.query}" if to.query else ""), jumps=jumps - 1)
        if answer.status >= 400:
            raise RuntimeError(f"{method} {address} gave {answer.status}: {self.body[:2000]!r}")
        self.text = self.body.decode(errors="replace")
        return self


def walk(port: int, environment: Mapping[str, str]) -> Iterator[str]:
    """Go through an installation with an empty database; yield a sentence for each thing that held.

    Raises:
        AssertionError: something does not hold.
    """
    password = secrets.token_urlsafe(16)
    command = [sys.executable, "manage.py", "createsuperuser", "--noinput", "--username", "owner"]
    subprocess.run(  # noqa: S603 - a fixed command of our own
        [*command, "--email", "owner@ledgerboard.example"],
        cwd=Path(__file__).parent.parent.parent,
        env={**environment, "DJANGO_SUPERUSER_PASSWORD": password},
        check=True,
        stdout=subprocess.DEVNULL,
    )
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


def _is_compressed_static(visitor: Visitor) -> bool:
    sheet = visitor.get("/sign-in/").link(r"ledger\.[0-9a-f]+\.css$")
    visitor.get(sheet)
    return "immutable" in visitor.headers.get("Cache-Control", "")


def _hold(fact: bool, sentence: str) -> None:
    if not fact:
        raise AssertionError(f"This does not hold: {sentence}.")
