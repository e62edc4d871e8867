"""The crew's pages, and the addresses their scripts speak to."""

from __future__ import annotations

import datetime
import json
import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.request import UnreadablePostError
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from contracting.staff.policies import StaffRequest, crew_allowed, everyone_allowed, office_required
from jobs.work.policies import job_for

from . import pages, phone, policies, selectors, services

MOST_ACTS = 100
MOST_BYTES = 2_000_000


@require_safe
@crew_allowed
@never_cache
def today(request: StaffRequest) -> HttpResponse:
    day = timezone.localdate()
    jobs = selectors.jobs_of_crew(request.user, today=day)
    return _page(request, "today", {"jobs": jobs, "today": day, "facts": phone.facts_for(request.user)})


@require_safe
@crew_allowed
@never_cache
def part(request: StaffRequest, pk: int, name: str) -> HttpResponse:
    job = job_for(request.user, pk)
    with timezone.override(job.site.time_zone):
        return _page(request, name, pages.context(name, job, request.user))


@require_safe
@crew_allowed
@never_cache
def waiting(request: StaffRequest) -> HttpResponse:
    return _page(request, "waiting", {"facts": phone.facts_for(request.user)})


@require_safe
@crew_allowed
@never_cache
def offline(request: StaffRequest) -> HttpResponse:
    return _page(request, "offline", {"facts": phone.facts_for(request.user)})


def _page(request: StaffRequest, name: str, context: dict[str, object]) -> HttpResponse:
    answer = render(request, f"crew/{name}.html", context)
    # The service worker keeps a page for this person and shows it to nobody else.
    answer["X-Crew-Person"] = str(request.user.pk)
    return answer


@require_safe
@everyone_allowed
@never_cache
def worker(request: HttpRequest) -> HttpResponse:
    return HttpResponse(phone.worker_script(), content_type="text/javascript; charset=utf-8")


@require_safe
@everyone_allowed
def manifest(request: HttpRequest) -> HttpResponse:
    return JsonResponse(phone.manifest(), content_type="application/manifest+json")


@require_safe
@everyone_allowed
@never_cache
def pulse(request: HttpRequest) -> JsonResponse:
    """Say what time it is here and who is signed in; the token is what a phone's next message needs."""
    told: dict[str, object] = {"now": round(timezone.now().timestamp() * 1000), "person": None}
    if request.user.is_authenticated:
        told |= {"person": request.user.pk, "name": str(request.user), "token": get_token(request)}
    return JsonResponse(told)


@require_POST
@crew_allowed
@never_cache
def acts(request: StaffRequest) -> JsonResponse:
    try:
        told = _read(request)
        clock = services.Clock.of(
            phone_now=services.read_moment(told["now"]), offset_ms=_whole(told.get("offset"))
        )
        keys = [uuid.UUID(str(one["key"])) for one in told["acts"]]
    except UnreadablePostError:
        # The signal went while the message was on its way; nobody reads this answer.
        return JsonResponse({"error": "lost"}, status=400)
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        return JsonResponse({"error": "shape", "message": str(error)[:200]}, status=400)
    if told.get("person") != request.user.pk:
        return JsonResponse({"error": "other-person"}, status=409)
    pairs = zip(keys, told["acts"], strict=True)
    results = [
        services.act_read_and_take(key=key, told=one, clock=clock, by=request.user) for key, one in pairs
    ]
    return JsonResponse({"now": round(timezone.now().timestamp() * 1000), "results": _results(results)})


def _read(request: HttpRequest) -> dict[str, Any]:
    if len(request.body) > MOST_BYTES:
        raise ValueError("The message is too long.")
    told = json.loads(request.body)
    if not isinstance(told, dict) or not isinstance(told.get("acts"), list):
        raise ValueError("A message is an object with a list of acts.")
    if len(told["acts"]) > MOST_ACTS:
        raise ValueError(f"A message has at most {MOST_ACTS} acts.")
    return told


def _whole(value: Any) -> int | None:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return int(value) if is_number and abs(value) < 10**15 else None


def _results(results: list[services.Result]) -> list[dict[str, object]]:
    return [
        {"key": str(one.key), "outcome": one.outcome, "messages": one.messages, "repeat": one.is_repeat}
        for one in results
    ]


@require_POST
@crew_allowed
def act(request: StaffRequest, pk: int) -> HttpResponse:
    """Take one act from a form, for a phone that runs no script."""
    job_for(request.user, pk)
    told = {name: str(value) for name, value in request.POST.items() if name != "csrfmiddlewaretoken"}
    now = datetime.datetime.now(datetime.UTC)
    try:
        key = uuid.UUID(told.pop("key", ""))
    except ValueError:
        key = uuid.uuid4()
    plain = {"key": str(key), "job": pk, "kind": told.pop("kind", ""), "fields": told}
    sent = services.read_act(plain | {"made_at": now.timestamp() * 1000})
    clock = services.Clock.of(phone_now=None, offset_ms=None)
    result = services.act_take(sent=sent, clock=clock, by=request.user)
    for sentence in result.messages:
        messages.error(request, sentence)
    if not result.messages:
        messages.success(request, _("Recorded."))
    return redirect("crew:job", pk)


@require_safe
@office_required
def look_at(request: StaffRequest) -> HttpResponse:
    return render(request, "crew/look_at.html", {"rows": pages.look_at_rows()})


@require_POST
@office_required
def look_at_seen(request: StaffRequest, pk: int) -> HttpResponse:
    services.look_at_seen(look_at=policies.look_at_for(request.user, pk), by=request.user)
    return redirect("crew:look-at")
