"""``python -m tests.benchmarks``: every target with what was measured and the ratio of the two.

Give names to run a part: ``plan browser takeoff paper record lists offline``. The
database is SQLite in a folder of its own, or what ``DATABASE_URL`` names (it must be empty)::

    python -m contracting.deploy.servers postgres -- python -m tests.benchmarks
"""

import argparse
import os
import shutil
import tempfile

FOLDER = tempfile.mkdtemp(prefix="ledgerboard-benchmarks-")
os.environ["LEDGERBOARD_VAR"] = FOLDER
os.environ["LEDGERBOARD_DEMO"] = "1"
os.environ["LOG_LEVEL"] = "WARNING"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contracting.settings")

import django  # noqa: E402

django.setup()

from . import cases  # noqa: E402
from .measuring import HEAD, load_said  # noqa: E402


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("cases", nargs="*", metavar="case", help=f"of {', '.join(cases.CASES)} (all)")
    parser.add_argument("--count", type=int, default=5000, help="customers, estimates, quotes, jobs (5,000)")
    asked = parser.parse_args()
    unknown = set(asked.cases) - set(cases.CASES)
    if unknown:
        parser.error(f"There is no case {', '.join(sorted(unknown))}.")
    try:
        with load_said():
            cases.prepare()
            print(HEAD)
            for name, measure in cases.CASES.items():
                if not asked.cases or name in asked.cases:
                    for result in measure(asked.count):
                        print(result.line(), flush=True)
    finally:
        shutil.rmtree(FOLDER, ignore_errors=True)


if __name__ == "__main__":
    main()
