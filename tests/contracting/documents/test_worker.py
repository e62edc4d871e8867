"""A real worker on a real broker, killed without warning: every document is made, and none twice.

The worker, like every process here, is started as a deployment starts it; the database is a SQLite file of
the test's own.
"""

import json
import os
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from contracting.deploy import servers

PATIENCE_SECONDS = 60
ASK = """
from contracting.staff.demo import load_company
from contracting.staff.letterhead import letterhead_request
from contracting.staff.selectors import company_profile
by, company = load_company()["office"], company_profile()
for n in range({count}):
    company.tagline = "{batch} %s" % n
    letterhead_request(company=company, by=by)
"""
LOOK = """
import hashlib, json
from django.core.files.storage import default_storage
from contracting.documents.models import DocumentRequest
def look(row):
    files = default_storage.listdir(f"documents/{row.pk}")[1] if row.file else []
    stored = hashlib.sha256(default_storage.open(row.file).read()).hexdigest() if row.file else ""
    return {"status": row.status, "error": row.error, "files": len(files),
            "whole": row.status == "done" and stored == row.sha256}
print("ROWS " + json.dumps([look(row) for row in DocumentRequest.objects.order_by("pk")]))
"""
# As if the lease had run out: what a killed worker held is put back, and due at once.
AGE = """
from django.utils import timezone
from contracting.documents.models import DocumentRequest
from contracting.documents.tasks import sweep_documents
DocumentRequest.objects.filter(status="rendering").update(lease_until=timezone.now())
sweep_documents()
DocumentRequest.objects.filter(status="queued").update(due_at=timezone.now())
sweep_documents()
"""


class Site:
    """An installation in a folder of its own."""

    def __init__(self, folder: Path, broker: str) -> None:
        self.environment = {
            **{name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ},
            "LEDGERBOARD_VAR": str(folder),
            "SECRET_KEY": secrets.token_urlsafe(60),
            "CELERY_BROKER_URL": broker,
            "DJANGO_SETTINGS_MODULE": "contracting.settings",
        }
        self.run("migrate", verbosity="0")

    def run(self, *command: str, verbosity: str = "1") -> str:
        line = [sys.executable, "manage.py", *command, "--verbosity", verbosity]
        return subprocess.run(
            line, env=self.environment, check=True, stdout=subprocess.PIPE, text=True
        ).stdout

    def shell(self, program: str) -> str:
        return self.run("shell", "--no-imports", "-c", program)

    def rows(self) -> list[dict[str, Any]]:
        line = next(line for line in self.shell(LOOK).splitlines() if line.startswith("ROWS "))
        rows: list[dict[str, Any]] = json.loads(line.removeprefix("ROWS "))
        return rows

    def worker(self) -> subprocess.Popen[bytes]:
        command = ["celery", "--quiet", "-A", "contracting", "worker", "-B", "--concurrency", "2"]
        return subprocess.Popen(
            [sys.executable, "-W", "ignore", "-m", *command, "--loglevel", "WARNING"],
            env=self.environment,
            start_new_session=True,
        )

    def wait(self, until: Callable[[list[dict[str, Any]]], bool]) -> list[dict[str, Any]]:
        end = time.monotonic() + PATIENCE_SECONDS
        while not until(rows := self.rows()):
            assert time.monotonic() < end, rows
            time.sleep(0.2)
        return rows


@pytest.fixture(params=["filesystem", "redis"])
def site(request, tmp_path):
    broker = "filesystem://" if request.param == "filesystem" else request.getfixturevalue("redis_url")
    return Site(tmp_path, broker)


def kill(worker):
    os.killpg(worker.pid, signal.SIGKILL)
    worker.wait()


@pytest.mark.usefixtures("pango")
def test_a_worker_killed_in_the_middle_loses_nothing_and_doubles_nothing(site):
    count = 24
    site.shell(ASK.format(count=count, batch="first"))
    worker = site.worker()
    try:
        for done_before_the_kill in (2, 8):
            site.wait(lambda rows, least=done_before_the_kill: done(rows) >= least)
            kill(worker)
            worker = site.worker()
            site.shell(AGE)
        rows = site.wait(lambda rows: done(rows) == count)
    finally:
        kill(worker)

    assert len(rows) == count
    assert all(row["whole"] and row["files"] == 1 and not row["error"] for row in rows)


def done(rows):
    return sum(row["status"] == "done" for row in rows)


def test_the_servers_of_these_tests_are_gone_afterwards():
    try:
        with servers.redis() as address:
            port = int(address.rsplit(":")[-1].split("/")[0])
            servers.wait_for_port(port)
    except servers.ServerMissing as missing:
        pytest.skip(str(missing))

    with pytest.raises(OSError, match="refused"):
        servers.socket.create_connection(("127.0.0.1", port), timeout=1)
