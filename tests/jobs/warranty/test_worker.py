"""A real worker killed without warning over warranty records: one signed document each, and none twice.

A short run of what the reliability figures ask for: ``RENDERS`` and ``KILLS`` may be set higher by hand.
"""

import json
import os
import random
import signal
import time

import pytest

from tests.contracting.documents.test_worker import AGE, Site

RENDERS = int(os.environ.get("WARRANTY_RENDERS", "6"))
KILLS = int(os.environ.get("WARRANTY_KILLS", "2"))
PATIENCE_SECONDS = 60 + 3 * RENDERS
ASK = """
from django.utils import timezone
from tests.jobs.warranty.factories import inspected_job
from contracting.staff.demo import load_company
from jobs.warranty.services import record_issue
by = load_company()["office"]
for n in range({count}):
    record_issue(job=inspected_job(number=4001 + n, is_measured=False), by=by, at=timezone.now())
"""
LOOK = """
import hashlib, json
from django.core.files.storage import default_storage
from jobs.warranty import chain, journal, keys, signing
from jobs.warranty.models import WarrantyRecord
def look(record):
    row = record.document
    if row.status != "done":
        return {"status": row.status, "error": row.error}
    pdf = default_storage.open(row.file).read()
    found = signing.examine(pdf, keys.certificate_files())
    return {"status": row.status, "error": row.error,
            "files": len(default_storage.listdir(f"documents/{row.pk}")[1]),
            "whole": found.is_whole and found.content_sha256 == record.sha256
                     and hashlib.sha256(pdf).hexdigest() == row.sha256}
rows = [look(one) for one in WarrantyRecord.objects.select_related("document").order_by("sequence")]
print("ROWS " + json.dumps(rows))
print("FAULTS " + json.dumps([str(one) for one in chain.faults()]))
print("LINES " + json.dumps(len(journal.lines())))
"""
STATUS = """
import json
from contracting.documents.models import DocumentRequest
print("ROWS " + json.dumps(list(DocumentRequest.objects.order_by("pk").values("status"))))
"""


def told(text, word):
    return json.loads(
        next(line for line in text.splitlines() if line.startswith(f"{word} "))[len(word) + 1 :]
    )


@pytest.mark.usefixtures("pango")
def test_a_worker_killed_at_random_moments_signs_every_record_once(tmp_path):
    site = Site(tmp_path, "filesystem://")
    key = site.run("make_signing_key")
    assert "is made" in key
    site.shell(ASK.format(count=RENDERS))
    draw = random.Random(4)
    worker = site.worker()
    try:
        for _kill in range(KILLS):
            time.sleep(draw.uniform(1.5, 6))
            os.killpg(worker.pid, signal.SIGKILL)
            worker.wait()
            worker = site.worker()
            site.shell(AGE)
        end = time.monotonic() + PATIENCE_SECONDS
        while any(row["status"] != "done" for row in told(site.shell(STATUS), "ROWS")):
            assert time.monotonic() < end
            time.sleep(1)
    finally:
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()

    found = site.shell(LOOK)
    rows = told(found, "ROWS")
    assert len(rows) == RENDERS
    assert all(row["whole"] and row["files"] == 1 and not row["error"] for row in rows), rows
    assert told(found, "FAULTS") == []
    assert told(found, "LINES") == RENDERS
