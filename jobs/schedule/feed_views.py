"""Private links to calendar feeds, and the feeds themselves."""

from __future__ import annotations

import datetime
from email.utils import format_datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from contracting.staff.models import User
from contracting.staff.policies import StaffRequest, crew_allowed, everyone_allowed

from . import feed_services, policies, selectors
from .feeds import feed_of
from .models import FeedLink


@crew_allowed
@require_GET
def feeds(request: StaffRequest) -> HttpResponse:
    people = list(selectors.people_of_calendar()) if request.user.sees_money else [request.user]
    links = {link.person_id: link for link in selectors.feed_links()}
    rows: list[tuple[int, User | None, FeedLink | None]] = [
        (person.pk, person, links.get(person.pk)) for person in people
    ]
    if request.user.sees_money:
        rows.insert(0, (0, None, links.get(None)))
    return render(request, "schedule/feeds.html", {"rows": rows})


@crew_allowed
@require_POST
def feed_make(request: StaffRequest, pk: int) -> HttpResponse:
    person = policies.feed_person_for(request.user, pk)
    _link, token = feed_services.feed_make(person=person, by=request.user)
    # Told on this answer alone: a redirect would have to keep the token somewhere.
    address = request.build_absolute_uri(reverse("schedule:feed", args=[token]))
    response = render(request, "schedule/feed_made.html", {"person": person, "address": address})
    response.headers["Cache-Control"] = "no-store"
    return response


@crew_allowed
@require_POST
def feed_revoke(request: StaffRequest, pk: int) -> HttpResponse:
    person = policies.feed_person_for(request.user, pk)
    feed_services.feed_revoke(person=person, by=request.user)
    messages.success(request, _("The link is revoked; calendar programs read nothing from it any more."))
    return redirect("schedule:feeds")


@everyone_allowed
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponseBase:
    link = policies.feed_for_token(token)
    if link is None:
        response: HttpResponseBase = HttpResponse(
            _("There is no calendar here."), status=404, content_type="text/plain; charset=utf-8"
        )
    else:
        now = timezone.now()
        found = feed_of(link, now=now, site_address=request.build_absolute_uri("/").rstrip("/"))
        changed_at = feed_services.feed_note(link=link, feed=found, at=now)
        response = _conditional(request, found.body, found.sha256, int(changed_at.timestamp()))
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _conditional(request: HttpRequest, body: bytes, sha256: str, changed: int) -> HttpResponseBase:
    """Answer with the feed, or 304 to a program that has it already."""
    etag = f'"{sha256}"'
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response.headers["Content-Disposition"] = 'inline; filename="visits.ics"'
    response.headers["ETag"] = etag
    moment = datetime.datetime.fromtimestamp(changed, datetime.UTC)
    response.headers["Last-Modified"] = format_datetime(moment, usegmt=True)
    return get_conditional_response(request, etag=etag, last_modified=changed, response=response) or response
