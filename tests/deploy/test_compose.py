"""docker-compose.yml: whole, without secrets of its own, and the same as what is tried natively."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest
import yaml

from contracting.deploy import native

ROOT = Path(__file__).parent.parent.parent
NEEDED = {"SECRET_KEY": "k" * 60, "POSTGRES_PASSWORD": "p"}


@pytest.fixture
def services():
    return native.compose(NEEDED)["services"]


def test_it_runs_the_database_the_broker_the_migrations_the_web_a_worker_and_the_scheduler(services):
    assert set(services) == {"postgres", "redis", "migrate", "web", "worker", "scheduler"}
    assert services["web"]["command"][0] == "gunicorn"
    assert services["worker"]["command"][:4] == ["celery", "-A", "contracting", "worker"]
    assert services["scheduler"]["command"][:4] == ["celery", "-A", "contracting", "beat"]


@pytest.mark.parametrize("name", sorted(NEEDED))
def test_it_does_not_start_without_its_secrets(name):
    with pytest.raises(KeyError, match=f"set {name}"):
        native.compose({key: value for key, value in NEEDED.items() if key != name})


def test_nothing_starts_before_what_it_needs(services):
    for name in ("web", "worker", "scheduler"):
        assert services[name]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}
        assert services[name]["depends_on"]["redis"] == {"condition": "service_healthy"}
    for name in ("postgres", "redis", "web", "worker"):
        assert services[name]["healthcheck"]["test"][0] == "CMD"


def test_every_process_of_ours_has_the_same_environment_and_it_is_all_text(services):
    ours = [services[name]["environment"] for name in ("migrate", "web", "worker", "scheduler")]

    assert all(each == ours[0] for each in ours)
    assert all(isinstance(value, str) for value in ours[0].values())
    assert ours[0]["DATABASE_URL"] == "postgres://ledgerboard:p@postgres:5432/ledgerboard"
    assert "LEDGERBOARD_DEMO" not in ours[0]


def test_the_environment_is_the_one_the_readme_lists(services):
    readme = (ROOT / "README.md").read_text()

    assert [name for name in services["web"]["environment"] if f"`{name}`" not in readme] == []


def test_the_image_runs_as_nobody_special_and_installs_by_the_lock_file():
    lines = (ROOT / "contracting" / "deploy" / "Dockerfile").read_text().splitlines()

    assert "USER ledgerboard" in lines
    assert any("--require-hashes -r requirements.lock" in line for line in lines)
    assert not any(line.startswith("USER") for line in lines[lines.index("USER ledgerboard") + 1 :])


def test_compose_itself_reads_the_file_where_it_is_installed():
    raw = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
    assert set(raw["volumes"]) == {"database", "documents"}
    if program := shutil.which("docker-compose"):
        answer = subprocess.run(
            [program, "config", "--quiet"],
            cwd=ROOT,
            env=os.environ | NEEDED,
            capture_output=True,
            text=True,
            check=False,
        )
        assert answer.returncode == 0, answer.stderr


def test_the_lock_file_names_no_index_and_hashes_everything():
    lines = (ROOT / "requirements.lock").read_text().splitlines()
    pinned = [line for line in lines if line and not line.startswith((" ", "#"))]

    assert not any("://" in line or line.lstrip().startswith("--index") for line in lines)
    assert all(line.endswith("\\") for line in pinned)
    assert sum("--hash=sha256:" in line for line in lines) >= len(pinned) > 50
