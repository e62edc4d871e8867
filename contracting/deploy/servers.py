"""Private PostgreSQL and Redis servers for tests and for the native deployment, from Debian's packages.

Each lives in a temporary folder on a port of its own and is gone when its ``with`` ends. As a command it
runs another command beside a server::

    python -m contracting.deploy.servers postgres -- python -m pytest
"""

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PATIENCE_SECONDS = 30


class ServerMissing(RuntimeError):
    """The server is not installed; the text names the Debian package."""


def free_port() -> int:
    """Return a port of the loopback interface that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def postgres() -> Iterator[str]:
    """Start PostgreSQL and yield its address as a ``DATABASE_URL``.

    Raises:
        ServerMissing: no initdb was found.
    """
    programs = _postgres_programs()
    # Servers of other accounts cannot enter the default temporary folder of root on every machine.
    folder = Path(tempfile.mkdtemp(prefix="ledgerboard-postgres-", dir="/tmp"))
    port = free_port()
    become: list[str] = []
    if os.geteuid() == 0:
        # PostgreSQL refuses to run as root.
        become = ["setpriv", "--reuid=nobody", "--clear-groups"]
        shutil.chown(folder, "nobody")
    data, log = folder / "data", folder / "log"
    # Speed over safety on purpose: nothing in this database outlives the test.
    options = f"-p {port} -c listen_addresses=127.0.0.1 -k {folder} -c fsync=off -c full_page_writes=off"
    # A test lets a hundred people press a button at once.
    options += " -c max_connections=200"
    try:
        _run([*become, str(programs / "initdb"), "-D", str(data), "-U", "app", "-A", "trust", "-E", "UTF8",
              "--locale=C.UTF-8"])  # fmt: skip
        _run(
            [*become, str(programs / "pg_ctl"), "-D", str(data), "-w", "-l", str(log), "-o", options, "start"]
        )
        try:
            yield f"postgres://app@127.0.0.1:{port}/postgres"
        finally:
            _run([*become, str(programs / "pg_ctl"), "-D", str(data), "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def redis() -> Iterator[str]:
    """Start Redis and yield its address as a ``CELERY_BROKER_URL``.

    Raises:
        ServerMissing: no redis-server was found.
    """
    program = shutil.which("redis-server")
    if program is None:
        raise ServerMissing("Redis is not installed (Debian package redis-server).")
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="ledgerboard-redis-") as folder:
        # Argument list, no shell; the program is the one found above.
        server = subprocess.Popen(  # noqa: S603
            [program, "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--dir", folder],
            stdout=subprocess.DEVNULL,
        )
        try:
            wait_for_port(port)
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            server.terminate()
            server.wait(PATIENCE_SECONDS)


def wait_for_port(port: int) -> None:
    """Return when something listens on *port*; TimeoutError after 30 s."""
    end = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            if time.monotonic() > end:
                raise TimeoutError(f"Nothing listens on port {port} after {PATIENCE_SECONDS} s.") from None
            time.sleep(0.05)
        else:
            return


def _postgres_programs() -> Path:
    def version(folder: Path) -> int:
        found = re.search(r"/(\d+)/bin$", str(folder))
        return int(found[1]) if found else 0

    folders = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    if on_path := shutil.which("initdb"):
        folders.append(Path(on_path).parent)
    if not folders:
        raise ServerMissing("PostgreSQL is not installed (Debian package postgresql).")
    return max(folders, key=version)


def _run(command: list[str]) -> None:
    done = subprocess.run(  # noqa: S603
        command, cwd="/", stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise RuntimeError(f"{command}: {done.stdout}{done.stderr}")


def main(arguments: list[str]) -> int:
    """Run a command beside the named servers; their addresses stand in its environment."""
    # Set when this package was imported. The command chooses its own settings: pytest would read them
    # before tests/conftest.py has said where the tests' data goes.
    os.environ.pop("DJANGO_SETTINGS_MODULE", None)
    names, command = arguments[: arguments.index("--")], arguments[arguments.index("--") + 1 :]
    if not names:
        return subprocess.run(command, check=False).returncode  # noqa: S603
    server, variable = {"postgres": (postgres, "DATABASE_URL"), "redis": (redis, "CELERY_BROKER_URL")}[
        names[0]
    ]
    with server() as address:
        os.environ[variable] = address
        return main([*names[1:], "--", *command])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
