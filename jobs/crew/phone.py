"""What a phone is told beside its pages: who it is for, and the checks and cures that stand before work.

With it the phone can say without signal what stands in the way; the server says it again when an act comes.
"""

from __future__ import annotations

import datetime
import json
from typing import Any

from django.conf import settings
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.takeoff.units import System
from jobs.inspections import limits
from jobs.inspections.checklist import AFTER_CURE, NEEDS, Step
from jobs.inspections.models import Hold
from jobs.inspections.selectors import CheckState, JobChecks, flood_ends_at
from jobs.work.models import Job

from .words import script_words

SCRIPTS = (
    *("crew-store", "crew-clock", "crew-queue", "crew-photos", "crew-sync"),
    *("crew-holds", "crew-marks", "crew-outbox", "crew-drafts", "crew-page"),
)
# What the service worker itself needs to send what waits while no page is open.
WORKER_SCRIPTS = ("crew-store", "crew-clock", "crew-queue", "crew-photos", "crew-sync")
# The pages of a job by the name of their address, as they are fetched ahead.
PAGES = ("job", "steps", "rooms", "cuts", "batches", "checks", "hours", "materials", "notes", "photos")
STYLES = ("ledger.css", "crew.css")


def facts_for(user: User, job: Job | None = None) -> dict[str, Any]:
    """Return what every crew page hands to its scripts."""
    facts: dict[str, Any] = {
        "person": user.pk,
        "name": str(user),
        "language": get_language(),
        "now": _ms(timezone.now()),
        "job": job.pk if job else None,
        "stage": job.stage if job else "",
        "urls": {
            "acts": reverse("crew:acts"),
            "pulse": reverse("crew:pulse"),
            "worker": reverse("crew:worker"),
            "uploads": "/photos/uploads/",
            "waiting": reverse("crew:waiting"),
            "today": reverse("crew:today"),
            "offline": reverse("crew:offline"),
            "parts": [reverse(f"crew:{name}", args=[0]) for name in PAGES],
            "signIn": f"{reverse('staff:sign-in')}?next={reverse('crew:today')}",
        },
        "words": script_words(),
    }
    if job is not None:
        facts |= {"zone": job.site.time_zone, "system": "mm" if job.site.units == System.METRIC else "in"}
    return facts


def checks_for_phone(checks: JobChecks) -> dict[str, Any]:
    """Return the state of every check, and which of them stand before which work."""
    return {
        "needs": {step.value: sorted(hold.value for hold in holds) for step, holds in NEEDS.items()},
        "afterCure": sorted(step.value for step in AFTER_CURE),
        "holds": {hold.value: str(hold.label) for hold in Hold},
        "floodWait": _seconds(limits.flood_wait(is_cold=False)),
        "floodWaitCold": _seconds(limits.flood_wait(is_cold=True)),
        "checks": [_check(state) for state in checks.states],
    }


def _check(state: CheckState) -> dict[str, Any]:
    planned, current, running = state.planned, state.current, state.running
    return {
        "pk": planned.pk,
        "hold": planned.hold,
        "kind": planned.kind,
        "quantity": planned.quantity,
        "room": planned.room_key,
        "roomName": planned.room_name,
        "surface": planned.surface_key,
        "place": planned.place,
        "label": _(planned.label),
        "least": planned.least,
        "most": planned.most,
        "wait": planned.wait_seconds,
        "stands": planned.stands_seconds,
        "passed": state.passed,
        "failed": state.open is not None,
        "waived": [step.value for step in Step if state.is_waived(step)],
        "laidAt": _ms(current.laid_at) if current and current.laid_at else None,
        "cold": bool(current and current.is_cold),
        "startedAt": _ms(running.started_at) if running else None,
        "endsAt": _ms(flood_ends_at(running)) if running else None,
        "startLevel": running.level if running else None,
    }


def worker_script() -> str:
    """Return the service worker's text: what it keeps from the start, and then the script itself."""
    told = {
        "assets": [static(name) for name in (*STYLES, *(f"{one}.js" for one in SCRIPTS), "mark.svg")]
        + [static("fonts/atkinson-hyperlegible-next.woff2"), static("crew-icon-192.png")],
        "scripts": [static(f"{one}.js") for one in WORKER_SCRIPTS],
        "static": settings.STATIC_URL,
        "offline": reverse("crew:offline"),
        "today": reverse("crew:today"),
        "pulse": reverse("crew:pulse"),
        "acts": reverse("crew:acts"),
        "uploads": "/photos/uploads/",
    }
    body = (settings.BASE_DIR / "contracting" / "static" / "crew-worker.js").read_text(encoding="utf-8")
    return f"self.told = {json.dumps(told)};\n{body}"


def manifest() -> dict[str, Any]:
    """Return the web app's manifest (W3C Web Application Manifest)."""
    return {
        "id": reverse("crew:today"),
        "name": _("Ledgerboard, on site"),
        "short_name": "Ledgerboard",
        "start_url": reverse("crew:today"),
        "scope": reverse("crew:today"),
        "display": "standalone",
        "background_color": "#f5f2ea",
        "theme_color": "#f5f2ea",
        "lang": get_language(),
        "icons": [
            {"src": static("mark.svg"), "sizes": "any", "type": "image/svg+xml"},
            {"src": static("crew-icon-192.png"), "sizes": "192x192", "type": "image/png"},
            {"src": static("crew-icon-512.png"), "sizes": "512x512", "type": "image/png"},
            {
                "src": static("crew-icon-maskable.png"),
                "sizes": "512x512",
                "type": "image/png",
                "purpose": "maskable",
            },
        ],
    }


def _ms(moment: datetime.datetime) -> int:
    return round(moment.timestamp() * 1000)


def _seconds(length: datetime.timedelta) -> int:
    return int(length.total_seconds())
