"""Calendar feeds against RFC 5545 by section, in round trip through icalendar, and by private link."""

import datetime
import logging
import re
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from contracting.private_links import MaskPrivateLinks
from jobs.schedule import services
from jobs.schedule.feed_services import feed_make, feed_revoke, token_hash
from jobs.schedule.models import FeedLink, Plan
from jobs.work.models import Job
from tests.contracting.factories import UserFactory

from .factories import BEFORE, MONDAY, planned, visits

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_the_time")]

ZONE = ZoneInfo("America/Chicago")
DAY = datetime.timedelta(days=1)


@pytest.fixture
def at_the_time():
    with time_machine.travel(BEFORE, tick=False):
        yield


def read(token, **headers):
    return Client().get(reverse("schedule:feed", args=[token]), **headers)


def feed(person=None, by=None):
    return feed_make(person=person, by=by or person or UserFactory.create(role="office"))[1]


def events(answer):
    return {str(event["UID"]): event for event in Calendar.from_ical(answer.content).walk("VEVENT")}


def unfolded(body):
    """Content lines by RFC 5545 3.1: CRLF and one space is no more than a fold."""
    return body.decode().replace("\r\n ", "").split("\r\n")


def test_the_rfcs_own_examples_are_read_as_it_says():
    # RFC 5545 3.1: three lines that are one.
    folded = (
        "BEGIN:VEVENT\r\nDESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
        # RFC 5545 3.3.11: line ends within a text.
        "COMMENT:Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.\r\nEND:VEVENT\r\n"
    )

    event = Calendar.from_ical(folded)

    assert event["DESCRIPTION"] == "This is a long description that exists on a long line."
    assert event["COMMENT"] == "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."


def test_a_persons_feed_holds_their_visits_and_comes_back_the_same(installer, other_installer):
    plan = planned(installer, other_installer)
    planned(other_installer)

    answer = read(feed(installer))

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    found = events(answer)
    assert set(found) == {str(visit.uid) for visit in visits(plan)}
    for visit in visits(plan):
        event = found[str(visit.uid)]
        assert event.decoded("DTSTART") == visit.starts_at
        assert event.decoded("DTEND") == visit.ends_at
        assert event["LOCATION"] == plan.job.site.street
        assert str(event["SUMMARY"]).startswith(f"{plan.job.number} Hall bath")
    # Reading and writing again changes nothing.
    assert Calendar.from_ical(answer.content).to_ical() == answer.content


def test_the_office_reads_everybodys_visits(office_manager, installer, other_installer):
    plans = [planned(installer), planned(other_installer)]

    found = events(read(feed(by=office_manager)))

    assert len(found) == sum(len(visits(plan)) for plan in plans)


def test_the_calendar_says_what_it_must(installer):
    planned(installer)
    lines = unfolded(read(feed(installer)).content)

    # RFC 5545 3.6: BEGIN, the required PRODID and VERSION (3.7.3, 3.7.4), END.
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert lines.count("VERSION:2.0") == 1
    # RFC 7986 5.1 and 5.7.
    assert "NAME:Ivo: visits" in lines
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines


def test_lines_end_and_fold_as_3_1_says(installer):
    plan = planned(installer)
    Job.objects.filter(pk=plan.job_id).update(title="Baño principal con ducha, nicho y banco; ñandú " * 2)
    body = read(feed(installer)).content

    # RFC 5545 3.1: CRLF, and no line longer than 75 octets without its end.
    assert b"\r\n" in body
    assert re.search(rb"(?<!\r)\n|\r(?!\n)", body) is None
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    # No fold lies within a letter of more than one octet.
    for line in body.split(b"\r\n"):
        line.decode()


def test_text_is_escaped_as_3_3_11_says(installer):
    plan = planned(installer)
    title = "Bath; shower, bench \\ curb"
    Job.objects.filter(pk=plan.job_id).update(title=title)
    body = read(feed(installer)).content

    summaries = [line for line in unfolded(body) if line.startswith("SUMMARY:")]
    assert summaries[0].startswith(f"SUMMARY:{plan.job.number} Bath\\; shower\\, bench \\\\ curb: ")
    described = next(line for line in unfolded(body) if line.startswith("DESCRIPTION:"))
    assert "\\n" in described
    assert title in str(next(iter(events(read(feed(installer))).values()))["SUMMARY"])


def test_times_carry_the_sites_zone_with_its_definition(installer):
    planned(installer)
    answer = read(feed(installer))

    # RFC 5545 3.2.19: a TZID needs its VTIMEZONE (3.6.5).
    assert "DTSTART;TZID=America/Chicago:20260601T080000" in unfolded(answer.content)
    (zone,) = Calendar.from_ical(answer.content).walk("VTIMEZONE")
    assert zone["TZID"] == "America/Chicago"
    offsets = {part["TZOFFSETTO"].to_ical() for part in zone.subcomponents}
    # Central standard and daylight time (15 U.S.C. 261 and 260a).
    assert offsets == {"-0600", "-0500"}


def test_a_moved_visit_keeps_its_uid_and_raises_its_sequence(office_manager, installer):
    plan = planned(installer)
    visit = visits(plan)[0]
    token = feed(installer)
    before = events(read(token))[str(visit.uid)]

    services.visit_move(visit=visit, seen=plan.revision, day=MONDAY + DAY, by=office_manager, at=BEFORE + DAY)
    after = events(read(token))[str(visit.uid)]

    # RFC 5545 3.8.4.7 and 3.8.7.4.
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert after.decoded("DTSTART").date() == MONDAY + DAY
    # RFC 5545 3.8.7.2 and 3.8.7.3: in UTC; without METHOD both say when it was last revised.
    assert after["DTSTAMP"].to_ical() == after["LAST-MODIFIED"].to_ical() == b"20260521T150000Z"


def test_what_was_not_moved_keeps_its_sequence(office_manager, installer):
    plan = planned(installer)
    token = feed(installer)
    last = visits(plan)[-1]

    services.visit_move(
        visit=last, seen=plan.revision, day=last.day + 7 * DAY, by=office_manager, at=BEFORE + DAY
    )

    found = events(read(token))
    assert [found[str(visit.uid)]["SEQUENCE"] for visit in visits(plan)[:-1]] == [0] * (len(visits(plan)) - 1)


def test_a_cancelled_visit_stays_for_a_while_as_cancelled(office_manager, installer):
    plan = planned(installer)
    visit = visits(plan)[0]
    token = feed(installer)

    services.visit_drop(visit=visit, seen=plan.revision, by=office_manager, at=BEFORE)

    # RFC 5545 3.8.1.11.
    event = events(read(token))[str(visit.uid)]
    assert (event["STATUS"], event["SEQUENCE"]) == ("CANCELLED", 1)
    with time_machine.travel(BEFORE + 61 * DAY, tick=False):
        assert str(visit.uid) not in events(read(token))


def test_who_is_taken_off_a_visit_is_told_that_it_is_cancelled(office_manager, installer, other_installer):
    plan = planned(installer)
    visit = visits(plan)[0]
    mine, theirs = feed(installer), feed(other_installer)

    services.visit_move(
        visit=visit,
        seen=plan.revision,
        day=visit.day,
        people=[other_installer],
        by=office_manager,
        at=BEFORE,
    )

    assert events(read(mine))[str(visit.uid)]["STATUS"] == "CANCELLED"
    assert events(read(theirs))[str(visit.uid)]["STATUS"] == "CONFIRMED"


def test_days_off_are_whole_days_whose_end_is_not_part_of_them(installer):
    services.day_off_set(person=installer, first_on=MONDAY, last_on=MONDAY + DAY)

    lines = unfolded(read(feed(installer)).content)

    # RFC 5545 3.6.1: DTEND is the non-inclusive end; 3.3.4: DATE.
    assert "DTSTART;VALUE=DATE:20260601" in lines
    assert "DTEND;VALUE=DATE:20260603" in lines


def test_a_feed_says_nothing_of_money_or_of_access(installer, office_manager):
    plan = planned(installer)
    site = plan.job.site
    site.access_notes = "Key code 4711"
    site.save()
    price = plan.job.quote.price_cents
    assert price == 415000

    text = read(feed(by=office_manager)).content.decode()

    assert "4711" not in text
    assert not re.search(r"\$|USD|4,?150|price", text)


def test_a_feed_speaks_the_language_of_its_person(office_manager):
    person = UserFactory.create(role="installer", language="es", first_name="Luis")
    planned(person)

    assert "Luis: visitas" in read(feed(person)).content.decode()


def test_a_program_that_has_it_already_gets_304(office_manager, installer):
    plan = planned(installer)
    token = feed(installer)
    first = read(token)

    # RFC 9110 13.1.2 and 13.1.3.
    assert read(token, HTTP_IF_NONE_MATCH=first["ETag"]).status_code == 304
    assert read(token, HTTP_IF_MODIFIED_SINCE=first["Last-Modified"]).status_code == 304

    with time_machine.travel(BEFORE + DAY, tick=False):
        Job.objects.filter(pk=plan.job_id).update(title="Attic bath")
        again = read(token, HTTP_IF_NONE_MATCH=first["ETag"], HTTP_IF_MODIFIED_SINCE=first["Last-Modified"])
        assert again.status_code == 200
        assert again["Last-Modified"] == "Thu, 21 May 2026 15:00:00 GMT"
        assert read(token, HTTP_IF_MODIFIED_SINCE=again["Last-Modified"]).status_code == 304


def test_reading_twice_gives_the_same_bytes(installer):
    planned(installer)
    token = feed(installer)

    first = read(token).content
    with time_machine.travel(BEFORE + datetime.timedelta(hours=5), tick=False):
        assert read(token).content == first


def test_only_a_hash_of_the_token_is_kept(installer):
    token = feed(installer)

    link = FeedLink.objects.get()
    assert link.token_sha256 == token_hash(token)
    assert len(token) >= 43  # 32 bytes
    assert token not in str(FeedLink.objects.values())


def test_a_renewed_or_revoked_link_reads_nothing(installer):
    old = feed(installer)
    new = feed(installer)

    assert read(old).status_code == 404
    assert read(new).status_code == 200

    feed_revoke(person=installer, by=installer)
    assert read(new).status_code == 404
    assert read("no-such-token").status_code == 404


def test_who_has_left_the_company_reads_nothing(installer):
    token = feed(installer)
    installer.is_active = False
    installer.save()

    assert read(token).status_code == 404


def test_the_token_stands_in_no_log(installer):
    token = feed(installer)
    path = reverse("schedule:feed", args=[token])
    record = logging.LogRecord("gunicorn.access", logging.INFO, "", 0, "GET %s HTTP/1.1", (path,), None)

    MaskPrivateLinks().filter(record)

    assert record.getMessage() == "GET /feed/…/visits.ics HTTP/1.1"


def test_an_installer_makes_a_feed_of_their_own_and_of_nobody_else(client, installer, other_installer):
    client.force_login(installer)

    made = client.post(reverse("schedule:feed-make", args=[installer.pk]))

    assert made["Cache-Control"] == "no-store"
    address = re.search(r'value="http://testserver(/feed/[^"]+)"', made.content.decode())[1]
    assert Client().get(address).status_code == 200
    assert client.post(reverse("schedule:feed-make", args=[other_installer.pk])).status_code == 404
    assert client.post(reverse("schedule:feed-make", args=[0])).status_code == 404


def test_a_feed_of_many_visits_takes_few_queries(installer, other_installer, django_assert_max_num_queries):
    for _number in range(6):
        planned(installer, other_installer)
    assert Plan.objects.count() == 6
    token = feed(installer)
    read(token)

    with django_assert_max_num_queries(9):
        read(token)
