#!/usr/bin/env python
"""Django's command line for Ledgerboard."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contracting.settings")
    if sys.argv[1:2] == ["demo"]:
        # Before the settings are read: only the demo runs without a secret key of its own.
        os.environ["LEDGERBOARD_DEMO"] = "1"
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
