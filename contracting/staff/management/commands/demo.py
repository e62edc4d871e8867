"""``manage.py demo``: the invented company on this machine, with a web server and a worker."""

import fcntl
import os
import signal
import socket
import subprocess
import sys
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command, get_commands

from contracting.documents.errors import LibraryMissing
from contracting.documents.rendering import check_library
from contracting.staff import demo

PORTS_TRIED = 20
PATIENCE_SECONDS = 90


class Command(BaseCommand):
    help = "Set up the invented demo company and serve it on this machine until Ctrl-C."
    # What matters here is checked below and said in one line each.
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the first port to try (8000)")

    def handle(self, *args: Any, port: int, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Call it as 'manage.py demo', so that it runs with the settings of the demo.")
        try:
            check_library()
        except LibraryMissing as missing:
            raise CommandError(str(missing)) from None
        # A script that starts us in the background makes us deaf to Ctrl-C; both signals stop the demo.
        for wanted in (signal.SIGINT, signal.SIGTERM):
            signal.signal(wanted, _as_interrupt)
        with only_one(Path(settings.VAR_DIR) / "demo.lock") as running, suppress(KeyboardInterrupt):
            self._load()
            port = _free_port(port)
            address = f"http://localhost:{port}/"
            running(address)
            self._serve(port, address)
        self._say("Stopped. The demo's data is kept; the same command starts it again.")

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        # Somebody reads the address out of a pipe or a file, too.
        self.stdout.flush()

    def _load(self) -> None:
        self._say("Setting up the demo company …")
        call_command("migrate", verbosity=0)
        if demo.is_somebody_elses_database():
            raise CommandError(
                "This database holds a company of its own. The demo uses an empty one: unset DATABASE_URL."
            )
        demo.load_company()
        if "load_demo" in get_commands():
            call_command("load_demo", verbosity=0)

    def _serve(self, port: int, address: str) -> None:
        web = ["gunicorn", "contracting.wsgi", "--bind", f"127.0.0.1:{port}", "--workers", "2"]
        # Threads, since a browser holds idle connections open and two plain workers would wait on them.
        web += ["--threads", "4", "--log-level", "warning", "--no-control-socket"]
        worker = ["celery", "--quiet", "-A", "contracting", "worker", "-B", "--concurrency", "2"]
        worker += ["--loglevel", "WARNING", "--without-gossip", "--without-mingle"]
        # Each runs in a session of its own: Ctrl-C reaches this process alone, which then stops them in turn.
        children = {name: _start(command) for name, command in (("web server", web), ("worker", worker))}
        try:
            _wait_until_it_answers(f"http://127.0.0.1:{port}/health/", children)
            self._greet(address)
            while True:
                _raise_if_one_ended(children)
                time.sleep(0.5)
        finally:
            _stop(children)

    def _greet(self, address: str) -> None:
        self._say(self.style.SUCCESS(f"\nLedgerboard is at {address}"))
        self._say(f"Sign in with one of these names and the password {demo.PASSWORD!r}:")
        for username, first_name, last_name, role, _language in demo.PEOPLE:
            self._say(f"  {username:<8} {first_name} {last_name}, {role.label}")
        self._say("Ctrl-C stops it.")


@contextmanager
def only_one(lock: Path) -> Iterator[Any]:
    """Hold *lock* while the demo runs; a second demo on the same data is told where the first one is."""
    with lock.open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            address = file.read().strip() or "another terminal"
            raise CommandError(f"The demo is already running at {address}") from None

        def running(address: str) -> None:
            file.seek(0)
            file.truncate()
            file.write(address)
            file.flush()

        yield running
        file.seek(0)
        file.truncate()


def _free_port(first: int) -> int:
    for port in range(first, first + PORTS_TRIED):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except (OSError, OverflowError):
                continue
            return port
    raise CommandError(f"Ports {first} to {first + PORTS_TRIED - 1} are all in use; try another with --port.")


def _start(command: list[str]) -> subprocess.Popen[bytes]:
    # Our own interpreter and a fixed list of arguments, without a shell.
    return subprocess.Popen(  # noqa: S603
        [sys.executable, "-m", *command],
        cwd=settings.BASE_DIR,
        # Celery advises against running as root on every start; for a demo that is noise.
        env=os.environ | {"PYTHONWARNINGS": "ignore::UserWarning"},
        stdin=subprocess.DEVNULL,
        start_new_session=True,
    )


def _wait_until_it_answers(address: str, children: dict[str, subprocess.Popen[bytes]]) -> None:
    end = time.monotonic() + PATIENCE_SECONDS
    while True:
        _raise_if_one_ended(children)
        try:
            with urlopen(address, timeout=2):  # noqa: S310 - our own address
                return
        except (URLError, OSError):
            if time.monotonic() > end:
                raise CommandError(f"The web server gave no answer within {PATIENCE_SECONDS} s.") from None
            time.sleep(0.1)


def _raise_if_one_ended(children: dict[str, subprocess.Popen[bytes]]) -> None:
    for name, child in children.items():
        if (code := child.poll()) is not None:
            raise CommandError(f"The {name} has ended by itself (code {code}); its last words stand above.")


def _stop(children: dict[str, subprocess.Popen[bytes]]) -> None:
    for child in children.values():
        child.terminate()
    for child in children.values():
        try:
            child.wait(15)
        except subprocess.TimeoutExpired:
            # The whole session: a worker's own children too.
            os.killpg(child.pid, signal.SIGKILL)


def _as_interrupt(number: int, frame: object) -> None:
    raise KeyboardInterrupt
