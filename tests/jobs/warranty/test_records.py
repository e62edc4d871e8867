"""When a record may be issued, what it freezes, and that it stays."""

import datetime

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from contracting.documents.models import DocumentRequest
from jobs.inspections.selectors import checks_of
from jobs.warranty import selectors, services
from jobs.warranty.models import WarrantyRecord
from jobs.work.models import Job, Stage

from .factories import deliver, inspected_job, issued, job_under_way

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
