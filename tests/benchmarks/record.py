"""The warranty record with sixty photos: how long its task takes in a worker, how much memory, how large."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator

from django.conf import settings
from django.utils import timezone

from contracting.staff.demo import load_company
from jobs.photos.models import About
from jobs.warranty import keys
from jobs.warranty.models import WarrantyRecord
from jobs.warranty.photographs import MOST
from jobs.warranty.services import record_issue
from tests.jobs.photos.factories import as_file, photo, scene
from tests.jobs.warranty.factories import inspected_job

from .measuring import Result

SECONDS, MEGABYTES_OF_MEMORY, MEGABYTES = 8, 300, 12
# A process of its own, as a worker is: what this one has used before does not count.
WORKER = """
import json, resource, sys, time
import django
django.setup()
from contracting.documents.models import DocumentRequest
from contracting.documents.tasks import render_document
wall, cpu = time.perf_counter(), time.process_time()
render_document(int(sys.argv[1]))
wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
row = DocumentRequest.objects.get(pk=int(sys.argv[1]))
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
print(json.dumps([row.status, row.error, row.page_count, row.byte_count, wall, cpu, peak]))
"""


def record(count: int) -> Iterator[Result]:
    """Of a whole shower, with photos as full of grain as a phone makes them in poor light."""
    made = issued_with(MOST)
    ran = subprocess.run(
        [sys.executable, "-c", WORKER, str(made.document_id)],
        # The tests' cast, imported for its factories, names a folder of its own.
        env={**os.environ, "LEDGERBOARD_VAR": str(settings.VAR_DIR)},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    status, error, pages, size, wall, cpu, peak = json.loads(ran.stdout.splitlines()[-1])
    assert status == "done", error
    assert len(made.snapshot["photos"]) == MOST
    name = f"warranty record, {MOST} photos, {pages} pages"
    yield Result(f"{name}, the worker's task", "s", SECONDS, wall, cpu)
    yield Result("    memory of that worker at its peak", "MB", MEGABYTES_OF_MEMORY, peak / 1e6)
    yield Result("    the signed PDF", "MB", MEGABYTES, size / 1e6)


def issued_with(photos: int) -> WarrantyRecord:
    """Issue the record of a job with *photos* photos, every fifth with an arrow."""
    people = load_company()
    if not keys.certificate_files():
        keys.key_make(company="Quarry Lane Tile")
    job = inspected_job(crew=(people["sam"],))
    for number in range(photos):
        wide, high = (2048, 1536) if number % 3 else (1536, 2048)
        photo(
            job,
            people["sam"],
            as_file(scene(wide, high, number, plain=0.55), quality=85),
            caption=f"Corner {number + 1} before the second sheet",
            about=About.STEP,
            ref="waterproofing",
            arrows=[] if number % 5 else [[2000, 8000, 5200, 4100]],
        )
    return record_issue(job=job, by=people["office"], at=timezone.now())
