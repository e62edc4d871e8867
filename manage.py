#!/usr/bin/env python
"""Django's command line for Ledgerboard."""

import os
import secrets
import sys

# These only compute: they open no database, keep no session and sign nothing.
_COMPUTE = ("takeoff", "benchmark_cutting")


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contracting.settings")
    if sys.argv[1:2] == ["demo"]:
        # Before the settings are read: only the demo runs without a secret key of its own.
        os.environ["LEDGERBOARD_DEMO"] = "1"
    if sys.argv[1:2] and sys.argv[1] in _COMPUTE:
        # Whoever only wants figures from a file should not have to make up a secret for it.
        os.environ.setdefault("SECRET_KEY", secrets.token_urlsafe(50))
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
