"""When a record may be issued, what it freezes, and that it stays."""

import pytest
from django.utils import timezone

from jobs.warranty import services
from jobs.work.models import Job, Stage

from .factories import inspected_job

pytestmark = pytest.mark.django_db


def test_a_job_whose_checks_have_passed_gets_its_record(office_manager):
    job = inspected_job()
    at = timezone.now()

    record = services.record_issue(job=job, by=office_manager, at=at)

    assert record.sequence == 1
    assert record.previous_sha256 == ""
    assert record.number.startswith("W-")
    assert record.document.kind == "warranty-record"
    assert record.document.audience == "customer"
    assert record.document.snapshot_sha256 == record.sha256 == services.content_sha256(record.snapshot)
    assert Job.objects.get(pk=job.pk).stage == Stage.COMPLETE
