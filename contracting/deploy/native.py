"""The deployment of docker-compose.yml without containers, driven once from outside.

The commands and the environment are read from docker-compose.yml itself, so what is tried here is what is
deployed; only the addresses of PostgreSQL and Redis, the folders and the port differ, and they are set by
the same environment variables that an installation uses::

    python -m contracting.deploy.native
"""

import os
import re
import secrets
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import yaml

from . import journey, servers

ROOT = Path(__file__).parent.parent.parent
PROGRAMS = Path(sys.executable).parent
_VARIABLE = re.compile(r"\$\{(\w+)(?::([-?])([^}]*))?\}")
# In a container the files were collected while its image was built.
COLLECT = ["python", "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]


def compose(environment: Mapping[str, str]) -> dict[str, Any]:
    """Return docker-compose.yml with its variables filled in from *environment*.

    Raises:
        KeyError: a variable that has to be set is not; the text is the one in the file.
    """

    def value(match: re.Match[str]) -> str:
        name, kind, text = match.groups()
        if environment.get(name):
            return environment[name]
        if kind == "-":
            return str(text)
        raise KeyError(text or name)

    def filled(node: Any) -> Any:
        if isinstance(node, dict):
            return {name: filled(child) for name, child in node.items()}
        if isinstance(node, list):
            return [filled(child) for child in node]
        return _VARIABLE.sub(value, node) if isinstance(node, str) else node

    # In this order, as compose does it: a value filled in stays text, whatever it looks like.
    services: dict[str, Any] = filled(yaml.safe_load((ROOT / "docker-compose.yml").read_text()))
    return services


def command_of(service: Mapping[str, Any]) -> list[str]:
    """Return a service's command with its program taken from this interpreter's own folder."""
    program, *arguments = service["command"]
    return [sys.executable if program == "python" else str(PROGRAMS / program), *arguments]


@contextmanager
def deployment(folder: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Run PostgreSQL, Redis, the migrations, the web server, a worker and the scheduler.

    Yields:
        The port of the web server, and the environment that its processes have.
    """
    with ExitStack() as stack:
        database = urlsplit(stack.enter_context(servers.postgres()))
        broker = urlsplit(stack.enter_context(servers.redis()))
        with psycopg.connect(database.geturl(), autocommit=True) as connection:
            connection.execute("CREATE ROLE ledgerboard LOGIN")
            connection.execute("CREATE DATABASE ledgerboard OWNER ledgerboard")
        port = servers.free_port()
        chosen = {
            "SECRET_KEY": secrets.token_urlsafe(60),
            "ALLOWED_HOSTS": "localhost,127.0.0.1",
            "POSTGRES_PASSWORD": secrets.token_urlsafe(20),
            "POSTGRES_HOST": str(database.hostname),
            "POSTGRES_PORT": str(database.port),
            "REDIS_HOST": str(broker.hostname),
            "REDIS_PORT": str(broker.port),
            "LEDGERBOARD_VAR": str(folder / "var"),
            "STATIC_ROOT": str(folder / "static"),
            "WEB_PORT": str(port),
            "LOG_LEVEL": "WARNING",
        }
        services = compose(chosen)["services"]
        own = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        environment = own | services["web"]["environment"]
        for command in (command_of({"command": COLLECT}), command_of(services["migrate"])):
            # Fixed lists of arguments from our own files, without a shell.
            subprocess.run(command, cwd=ROOT, env=environment, check=True)  # noqa: S603
        for name in ("web", "worker", "scheduler"):
            stack.enter_context(_running(command_of(services[name]), environment))
        servers.wait_for_port(port)
        yield port, environment


@contextmanager
def _running(command: list[str], environment: Mapping[str, str]) -> Iterator[None]:
    process = subprocess.Popen(command, cwd=ROOT, env=environment, start_new_session=True)  # noqa: S603
    try:
        yield
        if process.poll() is not None:
            raise RuntimeError(f"{command} ended by itself (code {process.returncode}).")
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)


def main() -> int:
    """Run the deployment, walk through it once, and say what was seen."""
    folder = Path(tempfile.mkdtemp(prefix="ledgerboard-native-"))
    try:
        with deployment(folder) as (port, environment):
            for line in journey.walk(port, environment):
                print(f"  {line}", flush=True)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print("The deployment of docker-compose.yml works natively.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
