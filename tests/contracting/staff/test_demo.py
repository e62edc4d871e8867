"""``manage.py demo`` as somebody on a fresh machine runs it: started, used, started twice, stopped."""

import os
import re
import signal
import socket
import subprocess
import sys
import time

import pytest
from django.core.management import CommandError, call_command

from contracting.deploy import servers
from contracting.deploy.journey import fetch_pdf
from contracting.deploy.visitor import Visitor
from contracting.documents.errors import LibraryMissing
from contracting.staff import demo
from contracting.staff.management.commands import demo as command

PATIENCE_SECONDS = 180


class Demo:
    """One run of the command, with what it has said so far."""

    def __init__(self, folder, *arguments):
        environment = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
        self.said = folder / "said.txt"
        with self.said.open("a") as out:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "demo", *arguments],
                env=environment | {"LEDGERBOARD_VAR": str(folder / "var")},
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def wait_for(self, pattern):
        end = time.monotonic() + PATIENCE_SECONDS
        while not (found := re.search(pattern, self.said.read_text())):
            assert self.process.poll() is None, self.said.read_text()
            assert time.monotonic() < end, self.said.read_text()
            time.sleep(0.1)
        return found

    def stop(self):
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(60)


@pytest.mark.usefixtures("pango")
def test_the_demo_is_started_used_started_again_and_stopped(tmp_path):
    taken = socket.create_server(("127.0.0.1", 0))
    first_port = taken.getsockname()[1]

    running = Demo(tmp_path, "--port", str(first_port))
    try:
        port = int(running.wait_for(r"Ledgerboard is at http://localhost:(\d+)/")[1])
        running.wait_for(r"owner +Marta Quill, owner")
        visitor = Visitor(port)
        visitor.get("/sign-in/").post(
            "/sign-in/", username="office", password=demo.PASSWORD, next="/company/"
        )
        pdf = fetch_pdf(visitor, visitor.post("/company/paper/").address)
        second = subprocess.run(
            running.process.args,
            env={"PATH": os.environ["PATH"], "LEDGERBOARD_VAR": str(tmp_path / "var")},
            capture_output=True,
            text=True,
            check=False,
        )
    finally:
        code = running.stop()
        taken.close()

    assert port > first_port, "a port that is taken is passed over"
    assert pdf.startswith(b"%PDF-")
    assert second.returncode == 1
    assert second.stderr.strip() == f"CommandError: The demo is already running at http://localhost:{port}/"
    assert code == 0
    said = running.said.read_text()
    assert said.endswith("Stopped. The demo's data is kept; the same command starts it again.\n")
    assert "Traceback" not in said
    with pytest.raises(OSError, match="refused"):
        servers.socket.create_connection(("127.0.0.1", port), timeout=1)


def test_a_machine_without_pango_is_told_what_to_install_in_one_line(monkeypatch):
    def missing():
        raise LibraryMissing("no libgobject")

    monkeypatch.setattr(command, "check_library", missing)
    with pytest.raises(CommandError) as refused:
        call_command("demo")

    assert str(refused.value) == (
        "PDFs cannot be made on this machine yet: install the Debian packages "
        "libpango-1.0-0 libpangoft2-1.0-0 fonts-dejavu-core."
    )


def test_when_every_port_is_taken_it_says_so(monkeypatch):
    monkeypatch.setattr(command, "PORTS_TRIED", 1)
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(CommandError, match="all in use"):
        command._free_port(taken.getsockname()[1])


def test_a_child_that_ends_by_itself_is_told(tmp_path):
    child = subprocess.Popen([sys.executable, "-c", "raise SystemExit(3)"])
    child.wait()
    with pytest.raises(CommandError, match=r"The worker has ended by itself \(code 3\)"):
        command._raise_if_one_ended({"worker": child})
