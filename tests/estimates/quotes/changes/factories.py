"""Change orders of a really signed quote, with its job and its budget."""

import datetime
from dataclasses import replace
from typing import Any

from contracting.staff.models import User
from estimates.quotes.changes import services
from estimates.quotes.changes.models import ChangeAcceptance, ChangeLine, ChangeLink, ChangeOrder
from estimates.quotes.changes.signing import CHANGE
from estimates.quotes.models import EstimateLine, Quote
from estimates.quotes.services import quote_accept_on_paper, quote_issue
from estimates.quotes.signing import services as signing
from estimates.rooms.measured import WallData
from estimates.rooms.models import Room
from estimates.rooms.selectors import room_data, room_with_parts
from estimates.rooms.services import room_save
from jobs.work.models import Job
from jobs.work.services import job_from_quote
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.factories import bath, company, estimate_of, inch, ready


def now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)


def today() -> datetime.date:
    return now().astimezone(datetime.UTC).date()


def job_of_lines(*, by: User | None = None, **values: Any) -> Job:
    """A job of a signed quote with one hand-written line: 200.00 of cost; no room is measured."""
    by = by or UserFactory.create()
    company()
    estimate = estimate_of(0, by=by, **values)
    EstimateLine.objects.create(estimate=estimate, step="tile", text="Reset three tiles", cost_cents=20_000)
    return _signed(estimate, by)


def job_of_rooms(*, by: User | None = None, rooms: int = 1, first: bool = True, **values: Any) -> Job:
    """A job of a signed quote with measured baths."""
    by = by or UserFactory.create()
    make = ready if first else estimate_of
    return _signed(make(rooms=rooms, by=by, **values), by)


def _signed(estimate: Any, by: User) -> Job:
    at = now() - datetime.timedelta(days=3)
    quote = quote_issue(estimate=estimate, by=by, at=at)
    quote = quote_accept_on_paper(quote=quote, name="Ada Lowell", signed_on=at.date(), by=by)
    return job_from_quote(quote=quote, by=by)


def line(**values: Any) -> ChangeLine:
    """A niche for 350.00 that costs 2 h and 80.00 of other costs."""
    given: dict[str, Any] = {
        "text": "Niche in the shower wall",
        "step": "tile",
        "price_cents": 35_000,
        "minutes": 120,
        "other_cents": 8_000,
    }
    return ChangeLine(**given | values)


def draft(quote: Quote, *lines: ChangeLine, by: User | None = None, **values: Any) -> ChangeOrder:
    by = by or UserFactory.create()
    order = services.change_start(quote=quote, title="A niche", reason="The owner asked for it.", by=by)
    given = {"title": order.title, "reason": order.reason, "work_days": 1, "pay_when": "balance"} | values
    return services.change_save(
        order=order, revision=order.revision, values=given, lines=list(lines) or [line()]
    )


def issued(quote: Quote, *lines: ChangeLine, by: User | None = None, **values: Any) -> ChangeOrder:
    by = by or UserFactory.create()
    return services.change_issue(order=draft(quote, *lines, by=by, **values), by=by, at=now())


def sent(order: ChangeOrder | None = None, **values: Any) -> tuple[ChangeLink, str]:
    order = order or issued(job_of_lines().quote)
    given = {"recipient": "ada@example.com", "expires_on": None} | values
    return signing.link_make(signable=CHANGE, paper=order, by=UserFactory.create(), **given)


def sign(link: ChangeLink, **values: Any) -> ChangeAcceptance:
    given = {"name": "Ada Lowell", "kind": "typed", "drawing": "", "consents": True, "agent": "Safari"}
    return signing.paper_sign(signable=CHANGE, link=link, **(given | values))


def refuse(link: ChangeLink, reason: str = "No.", agent: str = "") -> None:
    """Decline by the link."""
    signing.paper_refuse(signable=CHANGE, link=link, reason=reason, agent=agent)


def signed(quote: Quote, *lines: ChangeLine, **values: Any) -> ChangeOrder:
    order = issued(quote, *lines, **values)
    return services.change_accept_on_paper(
        order=order, name="Ada Lowell", signed_on=today(), by=UserFactory.create()
    )


def job_with_a_room_added(**values: Any) -> Job:
    """A job of one measured bath, whose customer has signed for another one of the same size."""
    job = job_of_rooms(**values)
    add_a_room(job)
    return Job.objects.get(pk=job.pk)


def add_a_room(job: Job, name: str = "Second bath") -> ChangeOrder:
    """Sign a change that adds a bath to *job*, and leaves something else out."""
    return sign_measured(job, bath(job.quote.site, name))


def sign_measured(job: Job, room: Room) -> ChangeOrder:
    """Sign a change of *job* with *room* as it is measured now, which leaves something else out."""
    order = draft(job.quote, line(text="No niche", sign=-1, price_cents=1_000))
    order = services.change_measure(order=order, revision=order.revision, rooms=[room])
    order = services.change_issue(order=order, by=UserFactory.create(), at=now())
    return services.change_accept_on_paper(
        order=order, name="Ada Lowell", signed_on=today(), by=UserFactory.create()
    )


def measured_again(room: Room, *, long: int = 120) -> Room:
    """Measure a bath again: 5 ft by *long* inches, all else as it was."""
    room = room_with_parts(room.pk)
    walls = tuple(WallData(inch(length)) for length in (long, 60, long, 60))
    data = replace(room_data(room), walls=walls, outline_text="")
    return room_save(
        room=room, site=room.site, data=data, by=room.created_by, expected_revision=room.revision
    )
