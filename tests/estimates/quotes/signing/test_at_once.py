"""A hundred people press the button at once: one signature, one job.

On SQLite fewer of them, since there one writes after the other anyway; a run on SQLite starts the hundred on
a PostgreSQL of its own.
"""

import threading

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.urls import reverse

from contracting.documents.models import DocumentRequest
from estimates.quotes import services as quotes
from estimates.quotes.estimate_services import EditConflictError
from estimates.quotes.models import Estimate, Quote
from estimates.quotes.signing import services
from estimates.quotes.signing.models import Acceptance, LinkVisit
from estimates.quotes.signing.policies import link_for_token
from estimates.quotes.signing.quotes import QUOTE
from jobs.inspections.models import InspectionPlan
from jobs.margins.models import Budget
from jobs.work.models import Job, StageChange
from jobs.work.services import quote_sign_on_paper

from .factories import issued, now, refuse, sent, sign, small

pytestmark = pytest.mark.django_db(transaction=True)


def crowd() -> int:
    return 100 if connection.vendor == "postgresql" else 16


def at_once(act, count: int) -> list[object]:
    """Call *act* from *count* threads that start at the same moment; return what each got."""
    gate, found = threading.Barrier(count), [None] * count

    def one(number: int) -> None:
        try:
            connection.ensure_connection()
            gate.wait(60)
            found[number] = act(number)
        except Exception as error:
            found[number] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_everybody_presses_at_once_and_one_job_is_made():
    _link, token = sent(issued())
    posted = {"consents": "on", "kind": "typed", "drawing": ""}

    def press(number: int) -> object:
        answer = Client().post(reverse("signing:sign", args=[token]), posted | {"name": f"Ada {number}"})
        return answer.status_code, answer.headers.get("Location")

    found = at_once(press, crowd())

    assert set(found) == {(302, reverse("signing:quote", args=[token]))}
    quote, acceptance = Quote.objects.get(), Acceptance.objects.get()
    assert quote.signed_name == acceptance.name
    assert Estimate.objects.get().status == Estimate.Status.WON
    for model in (Job, Budget, InspectionPlan, StageChange):
        assert model.objects.count() == 1, model
    assert DocumentRequest.objects.filter(kind="signed-quote").count() == 1
    assert LinkVisit.objects.filter(what="accepted").count() == 1


def test_by_links_of_their_own_one_signs_and_the_others_are_told():
    quote = small()
    tokens = [sent(quote)[1] for _ in range(8)]

    found = at_once(lambda number: sign(link_for_token(QUOTE, tokens[number]), name=f"Ada {number}"), 8)

    assert sum(isinstance(one, Acceptance) for one in found) == 1
    assert sum(isinstance(one, ValidationError) for one in found) == 7
    assert Acceptance.objects.count() == Job.objects.count() == 1


def test_signed_and_answered_otherwise_at_the_same_moment_one_answer_stands():
    """Sign, decline, withdraw, sign on paper, and issue anew: whoever is first, the rows agree."""
    link, token = sent()
    by, day = link.made_by, now().date()

    def quote() -> Quote:
        return Quote.objects.select_related("site", "estimate__site__customer").get(pk=link.quote_id)

    acts = [
        lambda: sign(link_for_token(QUOTE, token)),
        lambda: refuse(link_for_token(QUOTE, token)),
        lambda: quotes.quote_withdraw(quote=quote(), note="", by=by),
        lambda: quote_sign_on_paper(quote=quote(), name="Ada", signed_on=day, by=by),
        lambda: quotes.quote_issue(estimate=quote().estimate, by=by, at=now()),
    ]
    found = at_once(lambda number: acts[number % len(acts)](), 10)

    told = ValidationError | EditConflictError
    assert [one for one in found if isinstance(one, Exception) and not isinstance(one, told)] == []
    status = Quote.objects.get(pk=link.quote_id).status
    signed = Acceptance.objects.count()
    assert Job.objects.count() == (status == "accepted")
    assert signed <= (status == "accepted")
    won = Estimate.objects.get().status == Estimate.Status.WON
    assert won == (status == "accepted")


def test_revoked_and_signed_at_the_same_moment():
    """Either the signature stands and the link is closed afterwards, or nothing is signed."""
    link, token = sent()
    acts = [
        lambda: sign(link_for_token(QUOTE, token)),
        lambda: services.link_revoke(link=link, by=link.made_by),
    ]

    found = at_once(lambda number: acts[number % 2](), 6)

    assert Acceptance.objects.count() == Job.objects.count() <= 1
    assert all(one is None or isinstance(one, Acceptance | ValidationError) for one in found)


def test_a_hundred_at_once_on_postgresql(again_on_postgresql):
    again_on_postgresql(4)
