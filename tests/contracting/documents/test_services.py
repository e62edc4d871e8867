"""The outbox: asked once, claimed once, finished once, whatever dies on the way."""

import datetime
import threading

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from contracting.documents import services, tasks
from contracting.documents.errors import DocumentError
from contracting.documents.models import MAX_ATTEMPTS, TRANSITIONS, DocumentRequest, Status
from contracting.documents.rendering import RenderedDocument

from .conftest import SNAPSHOT

pytestmark = pytest.mark.django_db
PAGES = RenderedDocument(b"%PDF-1.7 invented", 3)


def ask(**changes):
    act = {"kind": "sample", "snapshot": SNAPSHOT, "subject": "Plan", "audience": "office", "by": None}
    return services.document_request(**(act | changes))


def test_asking_twice_for_the_same_snapshot_gives_one_row_and_one_message(
    django_capture_on_commit_callbacks, monkeypatch
):
    nudged = []
    monkeypatch.setattr(tasks.render_document, "delay", nudged.append)

    with django_capture_on_commit_callbacks(execute=True):
        first = ask()
        again = ask(snapshot=dict(reversed(SNAPSHOT.items())))

    assert first.pk == again.pk
    assert nudged == [first.pk]
    assert first.filename == "Plan_of_the_hall_bath.pdf"


def test_another_snapshot_is_another_document():
    assert ask().pk != ask(snapshot=SNAPSHOT | {"rows": []}).pk


def test_nothing_is_asked_for_when_the_act_is_rolled_back(django_capture_on_commit_callbacks, monkeypatch):
    nudged = []
    monkeypatch.setattr(tasks.render_document, "delay", nudged.append)

    @transaction.atomic
    def act_that_fails():
        ask()
        raise RuntimeError

    with django_capture_on_commit_callbacks(execute=True), pytest.raises(RuntimeError):
        act_that_fails()

    assert not DocumentRequest.objects.exists()
    assert nudged == []


def test_a_broker_that_is_away_costs_a_minute_and_not_an_error(
    django_capture_on_commit_callbacks, monkeypatch
):
    def away(pk):
        raise ConnectionRefusedError("no broker")

    monkeypatch.setattr(tasks.render_document, "delay", away)
    with django_capture_on_commit_callbacks(execute=True):
        document = ask()

    assert services.documents_sweep() == [document.pk]


def test_the_same_snapshot_for_another_audience_is_a_fault_of_the_program():
    ask()
    with pytest.raises(ValueError, match="asked for as office, now as crew"):
        ask(audience="crew")


def test_an_unknown_kind_is_a_fault_of_the_program():
    with pytest.raises(KeyError):
        ask(kind="nobody-registered-this")


def test_only_one_worker_gets_the_row():
    pk = ask().pk
    first, second = services.document_claim(pk=pk), services.document_claim(pk=pk)

    assert first is not None
    assert second is None
    assert first.attempts == 1


@pytest.mark.django_db(transaction=True)
def test_of_many_workers_at_once_one_gets_the_row():
    pk = ask().pk
    claims, barrier = [], threading.Barrier(8)

    def work():
        barrier.wait()
        claims.append(services.document_claim(pk=pk))
        connection.close()

    workers = [threading.Thread(target=work) for _ in range(8)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()

    assert len(claims) == 8
    assert sum(claim is not None for claim in claims) == 1


def test_a_finished_document_has_its_file_and_leaves_nothing_else():
    document = services.document_claim(pk=ask().pk)
    # What a worker killed while writing would have left.
    default_storage.save(f"documents/{document.pk}/0.pdf", ContentFile(b"%PDF half"))

    assert services.document_finish(document=document, rendered=PAGES)

    done = DocumentRequest.objects.get()
    assert done.is_done
    assert (done.page_count, done.byte_count) == (3, 17)
    # sha256 of the seventeen bytes above, by sha256sum.
    assert done.sha256 == "c9bb893bb6dcd937afc196fe4b710f495225d15b25cf98780a8fbd3b37fedb06"
    assert default_storage.listdir(f"documents/{done.pk}")[1] == ["1.pdf"]


def test_a_worker_thought_dead_that_comes_back_changes_nothing():
    slow = services.document_claim(pk=ask().pk)
    DocumentRequest.objects.update(lease_until=timezone.now() - datetime.timedelta(seconds=1))
    services.documents_sweep()
    DocumentRequest.objects.update(due_at=timezone.now())
    quick = services.document_claim(pk=slow.pk)
    assert services.document_finish(document=quick, rendered=PAGES)

    assert not services.document_finish(document=slow, rendered=RenderedDocument(b"%PDF other", 9))

    done = DocumentRequest.objects.get()
    assert (done.page_count, done.attempts) == (3, 2)
    assert default_storage.listdir(f"documents/{done.pk}")[1] == ["2.pdf"]
    assert default_storage.open(done.file).read() == PAGES.pdf


def test_a_row_whose_worker_died_waits_longer_each_time_and_then_fails_with_a_sentence():
    pk = ask().pk
    waits = []
    for attempt in range(1, MAX_ATTEMPTS + 1):
        DocumentRequest.objects.update(due_at=timezone.now())
        assert services.document_claim(pk=pk).attempts == attempt
        DocumentRequest.objects.update(lease_until=timezone.now() - datetime.timedelta(seconds=1))
        services.documents_sweep()
        waits.append((DocumentRequest.objects.get().due_at - timezone.now()).total_seconds())

    failed = DocumentRequest.objects.get()
    assert failed.is_failed
    assert failed.error == "The document could not be finished in 4 attempts."
    assert waits[:3] == [pytest.approx(5, abs=2), pytest.approx(60, abs=2), pytest.approx(300, abs=2)]


def test_a_failed_document_can_be_tried_again_from_the_beginning(
    django_capture_on_commit_callbacks, monkeypatch
):
    nudged = []
    monkeypatch.setattr(tasks.render_document, "delay", nudged.append)
    document = services.document_claim(pk=ask().pk)
    services.document_fail(document=document, sentence="The drawing is missing.")

    with django_capture_on_commit_callbacks(execute=True):
        again = services.document_retry(document=DocumentRequest.objects.get())

    assert (again.status, again.error, again.attempts_left) == (Status.QUEUED, "", MAX_ATTEMPTS)
    assert nudged == [again.pk]
    assert services.document_claim(pk=again.pk).attempts == 2


def test_trying_again_what_has_not_failed_changes_nothing():
    document = ask()
    services.document_retry(document=document)

    assert DocumentRequest.objects.get().status == Status.QUEUED


@pytest.mark.parametrize(
    ("old", "new"), [(old, new) for old in Status for new in Status if new not in TRANSITIONS[old]]
)
def test_a_status_moves_only_along_the_table(old, new):
    document = ask()
    with pytest.raises(ValueError, match="does not go from"):
        services.status_change(document, old, new)


def test_the_task_renders_once_even_when_its_message_comes_twice(monkeypatch):
    rendered = []
    monkeypatch.setattr(tasks, "render", lambda *a, **k: rendered.append(a) or PAGES)
    pk = ask().pk

    tasks.render_document(pk)
    tasks.render_document(pk)

    assert len(rendered) == 1
    assert DocumentRequest.objects.get().is_done


def test_an_expected_failure_becomes_a_sentence_in_the_language_of_who_asked(monkeypatch, office_manager):
    def refuse(*args, **kwargs):
        raise DocumentError("The drawing is missing.")

    monkeypatch.setattr(tasks, "render", refuse)
    tasks.render_document(ask(by=office_manager).pk)

    failed = DocumentRequest.objects.get()
    assert failed.is_failed
    assert failed.error == "The drawing is missing."


def test_an_unexpected_failure_is_tried_again_later(monkeypatch):
    def break_down(*args, **kwargs):
        raise OSError("disk full")

    monkeypatch.setattr(tasks, "render", break_down)
    tasks.render_document(ask().pk)

    waiting = DocumentRequest.objects.get()
    assert waiting.status == Status.QUEUED
    assert waiting.due_at > timezone.now()


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"status": "lost"}, "document_status_known"),
        ({"audience": "public"}, "document_audience_known"),
        ({"percent": 101}, "document_percent_at_most_100"),
        ({"status": "done"}, "document_done_has_its_file"),
        ({"status": "failed"}, "document_failed_says_why"),
        ({"status": "rendering"}, "document_rendering_has_a_lease"),
        (
            {"finished_at": datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)},
            "document_finished_after_created",
        ),
    ],
)
def test_the_database_refuses_what_cannot_be(changes, name):
    ask()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        DocumentRequest.objects.update(**changes)


def test_the_database_refuses_the_same_snapshot_twice():
    document = ask()
    document.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        document.save(force_insert=True)
