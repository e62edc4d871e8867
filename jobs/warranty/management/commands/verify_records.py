"""``manage.py verify_records``: proves that no record was removed, exchanged, dated back or altered."""

from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser

from jobs.warranty import chain
from jobs.warranty.models import WarrantyRecord


class Command(BaseCommand):
    help = (
        "Follow the chain of warranty records from the first to the last, and hold every stored PDF against "
        "its hash and its signature. Faults are named, and the exit code is 1."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--chain-only", action="store_true", help="leave out the stored PDFs")

    def handle(self, *args: Any, **options: Any) -> None:
        found = list(chain.faults(with_files=not options["chain_only"]))
        for fault in found:
            self.stderr.write(str(fault))
        for number in chain.files_not_made():
            self.stdout.write(f"{number}: its PDF is not made yet.")
        count = WarrantyRecord.objects.count()
        if found:
            raise CommandError(f"{len(found)} faults in {count} warranty records.", returncode=1)
        self.stdout.write(f"{count} warranty records: the chain holds.")
