"""``manage.py words``: gather every sentence of the product into the catalogues, and compile them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import CommandError, call_command
from django.core.management.commands import makemessages

SKIPPED = ["tests/*", "fixtures/*", "var/*", ".venv/*", ".ci/*", "staticfiles/*"]
DATES = re.compile(r'^"(?:POT-Creation-Date|PO-Revision-Date): [^"]*"\n', re.MULTILINE)
EMPTY = re.compile(
    r'^msgid (?P<id>(?:".*"\n)+)(?:msgid_plural (?:".*"\n)+)?msgstr(?:\[\d\])? ""\n(?!")', re.MULTILINE
)


class Command(makemessages.Command):
    """``makemessages`` with this house's choices: nothing guessed, no dates, no line numbers.

    A guessed ("fuzzy") translation reads well and is wrong, so none is made; dates and line numbers would
    change the file at every run and hide what did change.
    """

    help = "Gathers every sentence into contracting/locale, compiles it, lists what is not translated yet."
    requires_system_checks = ()
    msgmerge_options = [*makemessages.Command.msgmerge_options, "--no-fuzzy-matching"]

    def handle(self, *args: Any, **options: Any) -> None:
        """Run at the root of the repository; needs the gettext programs (Debian package ``gettext``).

        Raises:
            CommandError: after writing everything, when a sentence has no translation yet; it lists them.
        """
        languages = [code for code, _ in settings.LANGUAGES if code != "en"]
        options |= {
            "locale": languages,
            # The style sheet of the paper prints the word before the page numbers.
            "extensions": ["html", "txt", "py", "css"],
            "ignore_patterns": SKIPPED,
            "no_location": True,
            "add_location": None,
            "no_obsolete": True,
        }
        super().handle(*args, **options)
        missing = []
        for language in languages:
            catalogue = Path(settings.LOCALE_PATHS[0]) / language / "LC_MESSAGES" / "django.po"
            text = DATES.sub("", catalogue.read_text(encoding="utf-8"))
            catalogue.write_text(text, encoding="utf-8")
            missing += [f"{language}: {found['id'].strip()}" for found in EMPTY.finditer(text)]
        call_command("compilemessages", locale=languages, ignore_patterns=SKIPPED, verbosity=0)
        if missing:
            raise CommandError("\n".join(["Not translated yet:", *missing]))
