"""What a journey needs: a real worker, hands that are counted, and a clock in the server."""

import io
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import pytest
from django.conf import settings
from django.core.handlers.base import BaseHandler
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

PATIENCE_SECONDS = 90


def database_url() -> str:
    """Return the address of the database of this test run, for a process of its own."""
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    host = f"{database['HOST']}:{database['PORT']}"
    return f"postgres://{quote(database['USER'])}:{quote(database['PASSWORD'])}@{host}/{database['NAME']}"


@pytest.fixture
def worker(transactional_db: None, pango: None) -> Iterator[None]:
    """Run a Celery worker on this test's database, as ``manage.py demo`` starts it."""
    environment = {**os.environ, "DATABASE_URL": database_url(), "LEDGERBOARD_VAR": str(settings.VAR_DIR)}
    command = ["celery", "--quiet", "-A", "contracting", "worker", "--concurrency", "1"]
    process = subprocess.Popen(
        [sys.executable, "-W", "ignore", "-m", *command, "--loglevel", "WARNING"],
        cwd=settings.BASE_DIR,
        env=environment,
        start_new_session=True,
    )
    yield
    process.terminate()
    try:
        process.wait(20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


@dataclass
class Hands:
    """A person at a page: every key press and every click is counted."""

    page: "Page"
    keys: int = 0
    clicks: int = 0

    def types(self, text: str) -> None:
        self.keys += len(text)
        self.page.keyboard.type(text)

    def presses(self, key: str) -> None:
        self.keys += 1
        self.page.keyboard.press(key)

    def clicks_on(self, what: "Locator") -> None:
        self.clicks += 1
        what.click()

    @property
    def count(self) -> int:
        return self.keys + self.clicks


@dataclass
class Answer:
    """One answer of the server: wall and processor time in milliseconds."""

    method: str
    path: str
    wall_ms: float
    cpu_ms: float
    queries: int


@dataclass
class ServerClock:
    """The answers of the live server since the step began, static files left out."""

    answers: list[Answer] = field(default_factory=list)
    steps: list[tuple[str, list[Answer]]] = field(default_factory=list)

    def step(self, name: str) -> None:
        self.answers = []
        self.steps.append((name, self.answers))

    def table(self) -> str:
        rows = [f"  {'step':<38}{'wall ms':>9}{'cpu ms':>9}  answers (queries)"]
        for name, answers in self.steps:
            wall, cpu = sum(one.wall_ms for one in answers), sum(one.cpu_ms for one in answers)
            told = ", ".join(f"{one.method} {one.path} ({one.queries})" for one in answers)
            rows.append(f"  {name:<38}{wall:>9.0f}{cpu:>9.0f}  {told}")
        return "\n".join(rows)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> ServerClock:
    """Time every answer inside the live server."""
    kept = ServerClock()
    answer: Callable[..., Any] = BaseHandler.get_response

    def timed(self: BaseHandler, request: Any) -> Any:
        wall, cpu = time.perf_counter(), time.thread_time()
        with CaptureQueriesContext(connection) as queries:
            response = answer(self, request)
        if not request.path.startswith("/static/"):
            spent = (time.perf_counter() - wall) * 1000, (time.thread_time() - cpu) * 1000
            kept.answers.append(Answer(request.method, request.path, *spent, len(queries)))
        return response

    monkeypatch.setattr(BaseHandler, "get_response", timed)
    return kept


def pdf_pages(content: bytes) -> list[str]:
    """Return the words of a PDF, page by page."""
    assert content.startswith(b"%PDF-")
    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
