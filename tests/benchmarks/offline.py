"""A day's log and photos through a network that is cut at random: what is lost, what is doubled."""

import os
from collections.abc import Iterator

from django.conf import settings

from contracting.staff.models import User
from tests.conftest import CHROMIUM
from tests.jobs.crew.factories import shower_job
from tests.journeys.network_cuts import Hand, day_on_site, lost_and_doubled, network, phone

from .measuring import Result

ENTRIES, PHOTOS, CUTS = 100, 30, 200
SEED = int(os.environ.get("OFFLINE_SEED", "20261125"))


def offline(count: int) -> Iterator[Result]:
    """Enter 100 things and 30 photos while connections are cut, pages reloaded and the server killed."""
    if CHROMIUM is None:
        print("Chromium is not installed; the network cuts are not measured.")
        return
    from playwright.sync_api import sync_playwright

    installer = User.objects.create(username="offline", first_name="Ivo", role="installer")
    job = shower_job(crew=(installer,), by=User.objects.get(username="office"))
    database = settings.DATABASES["default"]
    address = os.environ.get("DATABASE_URL") or f"sqlite:///{database['NAME']}"
    environment = {"DATABASE_URL": address, "LEDGERBOARD_VAR": str(settings.VAR_DIR)}
    with sync_playwright() as playwright, network(environment, seed=SEED) as (server, proxy):
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        hand = Hand(phone(chromium, proxy, installer), job.pk, server, proxy, seed=SEED)
        told = day_on_site(hand, entries=ENTRIES, photos=PHOTOS, cuts=CUTS)
        chromium.close()
    assert (len(told.acts), len(told.photos)) == (ENTRIES, PHOTOS)
    lost, doubled = lost_and_doubled(told)
    how = ", ".join(f"{many} {fate}" for fate, many in told.cuts.items())
    print(f"    {told.cuts.total()} connections cut ({how}), {told.offline} times offline,")
    print(
        f"    {told.reloads} reloads, {told.workers_stopped} service workers stopped, "
        f"{told.kills} servers killed, {told.seconds:.0f} s"
    )
    yield Result(f"{ENTRIES} entries, {PHOTOS} photos, cut: lost", "rows", 1, lost)
    yield Result("    doubled", "rows", 1, doubled)
