"""Nothing lost and nothing doubled while the network is cut: a small run; the full one is a benchmark."""

import pytest
from django.conf import settings

from tests.jobs.crew.factories import shower_job

from .conftest import database_url
from .network_cuts import Hand, day_on_site, lost_and_doubled, network, phone

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("seed", [20261125])
def test_a_log_through_a_bad_network_is_stored_exactly_once(browser, installer, office_manager, seed):
    job = shower_job(crew=(installer,), by=office_manager)
    environment = {"DATABASE_URL": database_url(), "LEDGERBOARD_VAR": str(settings.VAR_DIR)}
    with network(environment, seed=seed) as (server, proxy):
        context = phone(browser, proxy, installer)
        told = day_on_site(Hand(context, job.pk, server, proxy, seed=seed), entries=12, photos=2, cuts=15)
        context.close()

    assert (len(told.acts), len(told.photos)) == (12, 2)
    assert lost_and_doubled(told) == (0, 0)
    assert told.cuts.total() >= 15
    print(f"\n{dict(told.cuts)}, {told.reloads} reloads, {told.kills} kills, {told.seconds:.0f} s")
