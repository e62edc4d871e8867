import datetime, json, uuid
import pytest
from django.utils import timezone
from django.urls import reverse
from jobs.crew.models import LookAt, PhoneAct
from jobs.inspections.models import CheckRecord
from jobs.inspections import services as insp
from jobs.inspections.selectors import check_state
from tests.jobs.inspections.factories import HOUR, INCH, check, pass_all, planned_job, record
from tests.jobs.crew.test_taking_acts import told, send, outcomes
pytestmark = pytest.mark.django_db

def test_stale_pass_closes_nc(installer, other_installer, office_manager):
    job = planned_job(crew=(installer, other_installer))
    laps = check(job, "side_laps")
    failed = record(laps, office_manager, reading=INCH, observed_at=timezone.now()-2*HOUR)
    insp.corrective_action(non_conformance=failed.non_conformance, by=office_manager, key=uuid.uuid4(), text="Patched it")
    a = send(other_installer, told(job, "check", check=str(laps.pk), reading='2 1/2"', instrument="tape", ago=5*HOUR))
    print(a.json())
    assert check_state(laps).open is not None

def test_stale_laid(installer, other_installer):
    job = planned_job(crew=(installer, other_installer))
    laid = [c for c in job.inspection_plan.checks.all() if c.kind == "laid"][0] if hasattr(job,"inspection_plan") else None
    from jobs.inspections.models import PlannedCheck
    laid = PlannedCheck.objects.filter(plan__job=job, kind="laid")[0]
    now = timezone.now()
    record(laid, installer, laid_at=now-1*HOUR)
    before = check_state(laid).cured_at
    a = send(other_installer, told(job, "check", check=str(laid.pk), laid_at="now", is_cold="no", ago=30*HOUR))
    print(a.json())
    assert check_state(laid).cured_at >= before

@pytest.mark.parametrize("act", [
  {"made_at": 253402300799000}, {"made_at": -62135596800000}, {"offset": 3.9e12, "made_at": 253402300799000},
  {"after": -62135596800000, "offset": 3.9e12},{"after": -62135596800000, "offset": 0},
  {"made_at": 1e300}, {"made_at": float("nan")}, {"job": 2**63}, {"job": -5}, {"fields": {"a": ["x"]}}, {"kind": "x"*5000}, {"mends": 5}, {"mends":"zz"}, {"key": "0"*32},
])
@pytest.mark.parametrize("now", [None, -62135596800000, 253402300799000])
def test_weird(installer, act, now):
    job = planned_job(crew=(installer,))
    one = told(job, "hours", step="preparation", minutes="1:00") | act
    n = None if now is None else datetime.datetime.fromtimestamp(now/1000, datetime.UTC)
    a = send(installer, one, now=n)
    print(a.status_code, a.content[:300])
    assert a.status_code in (200, 400)
