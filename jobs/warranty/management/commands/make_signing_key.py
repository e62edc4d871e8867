"""``manage.py make_signing_key``: the key that warranty records are signed with."""

from typing import Any

from django.core.management import BaseCommand, CommandParser

from contracting.staff.selectors import company_profile
from jobs.warranty import keys


class Command(BaseCommand):
    help = (
        "Make the company's signing key in the folder SIGNING_KEY_DIR, once. With --rotate a new key takes "
        "the place of the old one, whose private half is destroyed; what it signed is still verified."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--rotate", action="store_true", help="make a new key although there is one")

    def handle(self, *args: Any, **options: Any) -> None:
        company = company_profile().name or "Ledgerboard"
        key, is_new = keys.key_make(company=company, rotate=options["rotate"])
        if is_new:
            self.stdout.write(f"Signing key {key.fingerprint} is made in {keys.folder()}.")
            self.stdout.write("Back this folder up apart from the database, and let nobody else read it.")
        else:
            self.stdout.write(f"There is a signing key already: {key.fingerprint} in {keys.folder()}.")
