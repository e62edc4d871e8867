"""The cast of the tests, and the servers and the browser that some of them need.

The names say the rights: *owner* and *office_manager* see money, *installer* and *other_installer* do not,
and *outsider* has no account.
"""

import atexit
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import django
import pytest

# Before Django's settings are read: nothing of a test reaches the data folder of the checkout. For the same
# reason the settings are named here and not in pyproject.toml, from where they would be read earlier.
os.environ["LEDGERBOARD_VAR"] = tempfile.mkdtemp(prefix="ledgerboard-tests-")
os.environ["LEDGERBOARD_DEMO"] = "1"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contracting.settings")
# Playwright's loop runs in the thread of the test, where Django would refuse to touch the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
atexit.register(shutil.rmtree, os.environ["LEDGERBOARD_VAR"], ignore_errors=True)

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser
    from playwright.sync_api import Browser, Page

    from contracting.staff.models import User

CHROMIUM = shutil.which("chromium")
_skipped: list[str] = []


def pytest_configure() -> None:
    django.setup()


@pytest.fixture(autouse=True)
def _own_language() -> Iterator[None]:
    """Begin every test in English: a request leaves its reader's language on in the thread it ran in."""
    from django.utils import translation

    translation.deactivate()
    yield
    translation.deactivate()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped and not hasattr(report, "wasxfail"):
        _skipped.append(report.nodeid)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """In CI everything is installed, so a skipped test there is a failed one."""
    if os.environ.get("CI") == "true" and _skipped and session.exitstatus == 0:
        print(f"\nSkipped in CI, which counts as failed: {', '.join(_skipped)}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """Test SQLite as it runs: a file in WAL mode, not a memory shared by connections that lock each other."""
    from django.conf import settings

    database = settings.DATABASES["default"]
    if database["ENGINE"] == "django.db.backends.sqlite3":
        worker = os.environ.get("PYTEST_XDIST_WORKER", "alone")
        database.setdefault("TEST", {})["NAME"] = str(Path(settings.VAR_DIR) / f"test-{worker}.sqlite3")
        # Nobody pulls the plug on a test, so the disk need not be waited for.
        database["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL;PRAGMA synchronous=OFF;"


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """Let the test database be emptied between tests that commit: SQLite does that with DELETE.

    The guards against DELETE of inspection records are put back by the test that checks them.
    """
    from django.db import connection

    with django_db_blocker.unblock():
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute(
                    "SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%_no_delete'"
                )
                for (name,) in cursor.fetchall():
                    cursor.execute(f'DROP TRIGGER "{name}"')


def _person(username: str, first_name: str, role: str) -> "User":
    from contracting.staff.models import User

    return User.objects.create(username=username, first_name=first_name, role=role)


@pytest.fixture
def owner(db: None) -> "User":
    return _person("owner", "Olive", "owner")


@pytest.fixture
def office_manager(db: None) -> "User":
    return _person("office", "Priya", "office")


@pytest.fixture
def installer(db: None) -> "User":
    return _person("installer", "Ivo", "installer")


@pytest.fixture
def other_installer(db: None) -> "User":
    return _person("other-installer", "Odile", "installer")


@pytest.fixture
def outsider() -> "AnonymousUser":
    from django.contrib.auth.models import AnonymousUser

    return AnonymousUser()


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """The address of an empty PostgreSQL of the test's own; skips where none is installed."""
    from contracting.deploy import servers

    try:
        with servers.postgres() as address:
            yield address
    except servers.ServerMissing as missing:
        pytest.skip(str(missing))


@pytest.fixture
def again_on_postgresql(request: pytest.FixtureRequest) -> Callable[[int], None]:
    """Run the file of the test once more, on PostgreSQL, where many at once are really many.

    The tests whose names say ``postgresql`` are left out; the number of those that must pass is told. On
    PostgreSQL already there is nothing to run again.
    """
    from django.db import connection

    def run(count: int) -> None:
        if connection.vendor == "postgresql":
            return
        address = request.getfixturevalue("postgres_url")
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
        done = subprocess.run(
            [*command, str(request.path), "-k", "not postgresql"],
            cwd=Path(__file__).parent.parent,
            # The run around it may have options of its own, such as how many workers.
            env={**os.environ, "DATABASE_URL": address, "PYTEST_ADDOPTS": ""},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
        assert f"{count} passed" in done.stdout

    return run


@pytest.fixture(scope="session")
def redis_url() -> Iterator[str]:
    """The address of an empty Redis of the test's own; skips where none is installed."""
    from contracting.deploy import servers

    try:
        with servers.redis() as address:
            yield address
    except servers.ServerMissing as missing:
        pytest.skip(str(missing))


@pytest.fixture(scope="session")
def pango() -> None:
    """Skip where the library that lays out PDF pages is not installed."""
    from contracting.documents.errors import LibraryMissing
    from contracting.documents.rendering import check_library

    try:
        check_library()
    except LibraryMissing as missing:
        pytest.skip(str(missing))


@pytest.fixture(scope="session")
def browser() -> Iterator["Browser"]:
    """Chromium without a window; skips where it is not installed."""
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed (Debian package chromium).")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture
def browse(browser: "Browser", live_server: Any) -> Iterator[Callable[..., "Page"]]:
    """Open pages as somebody: ``browse(office_manager, width=390, height=844)``; addresses are relative."""
    from django.test import Client

    contexts = []

    def opened(user: "User | None" = None, *, width: int = 1360, height: int = 900, **options: Any) -> "Page":
        context = browser.new_context(
            base_url=live_server.url, viewport={"width": width, "height": height}, **options
        )
        contexts.append(context)
        if user is not None:
            # One of its own: signing in as a second person would end the first one's session.
            client = Client()
            client.force_login(user)
            context.add_cookies(
                [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
            )
        return context.new_page()

    yield opened
    for context in contexts:
        context.close()
