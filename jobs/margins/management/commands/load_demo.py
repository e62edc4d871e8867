"""``manage.py load_demo``: the invented company's customers, rooms, quotes and jobs at every stage."""

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError

from contracting.staff.demo import load_company
from estimates.pricelists.demo import load_price_list
from jobs.margins.demo import load_work


class Command(BaseCommand):
    help = (
        "Fill an empty database with the invented demo company; a database that has customers is left alone."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("The demonstration is loaded only where LEDGERBOARD_DEMO=1.")
        people = load_company()
        load_price_list()
        if load_work(people):
            self.stdout.write("The demo company is ready.")
        else:
            self.stdout.write("There are customers already; nothing was added.")
