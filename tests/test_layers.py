"""The layers import one way, and the takeoff is pure computation.

The contracts stand in pyproject.toml under ``[tool.importlinter]`` and are run here by import-linter; the
planted faults below show that it would notice.
"""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CONTRACTS = (ROOT / "pyproject.toml").read_text()
PACKAGES = (
    "contracting/staff",
    "estimates/pricelists",
    "estimates/quotes",
    "estimates/rooms",
    "estimates/takeoff",
    "jobs/work",
)


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    # import-linter reads the packages of its working folder.
    return subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command as main; main()",
            "--no-cache",
        ],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_layers_import_one_way_and_the_takeoff_is_pure():
    answer = lint(ROOT)

    assert answer.returncode == 0, answer.stdout + answer.stderr


@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("contracting/staff/odd.py", "import estimates.rooms", "Layers import one way"),
        ("estimates/rooms/odd.py", "from jobs import work", "Layers import one way"),
        ("estimates/takeoff/odd.py", "from django.utils import timezone", "The takeoff is pure computation"),
        ("estimates/takeoff/odd.py", "import contracting.money", "The takeoff is pure computation"),
        ("estimates/takeoff/odd.py", "import random", "The takeoff is pure computation"),
    ],
)
def test_a_planted_fault_is_noticed(tmp_path, module, line, broken):
    for package in PACKAGES:
        folder = tmp_path / package
        folder.mkdir(parents=True)
        for each in (folder, folder.parent):
            (each / "__init__.py").touch()
    (tmp_path / "contracting/money.py").touch()
    (tmp_path / "pyproject.toml").write_text(CONTRACTS)
    assert lint(tmp_path).returncode == 0

    (tmp_path / module).write_text(line + "\n")

    answer = lint(tmp_path)
    assert answer.returncode != 0
    assert f"{broken} BROKEN" in answer.stdout


def calls(folder):
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                yield f"{path.name}:{node.lineno}", ast.unparse(node.func), node


def test_the_takeoff_reads_no_clock_and_draws_only_from_seeded_generators():
    wrong = [
        (place, name)
        for place, name, call in calls(ROOT / "estimates" / "takeoff")
        if name in {"datetime.now", "datetime.today", "date.today", "datetime.datetime.now", "time.time"}
        or (name.startswith("random.") and not (name == "random.Random" and call.args))
        or (name.startswith(("np.random.", "numpy.random.")) and not call.args)
    ]

    assert wrong == []
