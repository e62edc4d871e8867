"""A shower's membrane from a phone without signal, to the flood test, and what the office sees of it.

A real Chromium at phone size, a real service worker, IndexedDB and live server. Server and phone move through
the cure together: the server's clock by time-machine, which reaches its threads, the phone's by Playwright.
"""

import datetime
import io
import re

import pytest
from django.utils import timezone
from PIL import Image

from jobs.crew.models import Mark, PhoneAct
from jobs.inspections.models import CheckRecord, FloodStart, PlannedCheck
from jobs.photos.models import Photo, PhotoUpload
from jobs.work.models import DeliveryEntry, HoursEntry
from tests.jobs.crew.factories import NO_BACKGROUND_SYNC, shower_job

pytestmark = pytest.mark.django_db(transaction=True)

PHONE = {"width": 390, "height": 844}
START = datetime.datetime(2026, 6, 15, 13, 0, tzinfo=datetime.UTC)  # 8:00 in Chicago


class Phone:
    """An installer's phone: a page that is taken through signal and its absence, and through time."""

    def __init__(self, page, time_machine, job):
        self.page, self.time_machine, self.job = page, time_machine, job
        self.now = START

    def opens(self, part=""):
        self.page.goto(f"/crew/jobs/{self.job.pk}/{part}")
        self.page.locator("body[data-ready]").wait_for()

    def is_kept(self):
        """Wait until every page of the job is on the phone."""
        self.page.locator("body[data-warm]").wait_for(timeout=60_000)

    def loses_signal(self):
        self.page.context.set_offline(True)

    def gets_signal(self):
        self.page.context.set_offline(False)
        self.is_empty()

    def is_empty(self):
        self.page.evaluate("crew.sync.soon()")
        self.page.locator("body[data-waiting='0']").wait_for(timeout=60_000)

    def waits(self, **length):
        """Let time go by, on the phone and at the server."""
        self.now += datetime.timedelta(**length)
        self.time_machine.move_to(self.now)
        self.page.clock.set_system_time(self.now)

    def waiting(self):
        return int(self.page.locator("body").get_attribute("data-waiting"))

    def check(self, key, surface=""):
        planned = PlannedCheck.objects.get(plan__job=self.job, key=key, surface_key=surface)
        part = self.page.locator(f"#check-{planned.pk}")
        if part.get_attribute("open") is None:
            part.locator("summary").click()
        return part

    def answers(self, part):
        self.taps(part.get_by_role("button", name=re.compile("Record|embedded|Water is in|End the test")))

    def keeps(self, form):
        self.taps(form.locator("button.btn"))

    def taps(self, button):
        before = self.waiting()
        button.click()
        self.page.locator(f"body[data-waiting='{before + 1}']").wait_for()


@pytest.fixture
def phone(browse, installer, office_manager, time_machine):
    time_machine.move_to(START)
    job = shower_job(crew=(installer,), by=office_manager)
    page = browse(installer, **PHONE)
    page.clock.install(time=START)
    # The service worker's clock cannot be moved with the page's, so here it sends nothing by itself.
    page.add_init_script(NO_BACKGROUND_SYNC)
    made = Phone(page, time_machine, job)
    made.opens()
    made.is_kept()
    return made


def picture(colour):
    file = io.BytesIO()
    Image.new("RGB", (3000, 2000), colour).save(file, "JPEG")
    return {"name": f"{colour}.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}


def passes_every(phone, hold, *, skip=()):
    """Pass every check at a hold point by taps."""
    for planned in PlannedCheck.objects.filter(plan__job=phone.job, hold=hold).order_by("position"):
        if planned.key in skip:
            continue
        part = phone.check(planned.key, planned.surface_key)
        if planned.kind == "answer":
            part.get_by_label("Yes", exact=True).check()
        elif planned.kind == "laid":
            part.get_by_label("No", exact=True).check()
        else:
            taps = part.locator(".tap")
            if taps.count():
                taps.nth(2 if planned.least is not None else 0).click()
            else:
                part.locator("[name=reading]").fill("80")
            if not part.locator("[name=instrument]").input_value():
                part.locator("[name=instrument]").fill("straightedge")
        if planned.needs_note:
            part.locator("[name=note]").fill("meter: 3 %")
        phone.answers(part)


def test_a_shower_is_waterproofed_without_signal_and_the_office_sees_it_all(phone, browse, office_manager):
    page, job = phone.page, phone.job
    phone.loses_signal()

    # The membrane, with nothing but what is on the phone.
    phone.opens("checks/")
    passes_every(phone, "substrate accepted")
    phone.opens("cuts/")
    page.locator(".tick-box").first.click()
    page.locator("li:first-child .tick-box[aria-pressed=true]").wait_for()
    phone.opens("batches/")
    page.get_by_role("button", name="Agent is spread: start the clock").first.click()
    page.locator("#batch-1.live").wait_for()
    phone.waits(minutes=6)
    phone.opens("batches/")
    assert re.match(r"[89]:\d\d min left to embed", page.locator("#batch-1 [data-clock]").inner_text())
    page.get_by_role("button", name="All sheets embedded").first.click()
    page.locator("#batch-1.curing").wait_for()
    phone.opens("checks/")
    passes_every(phone, "membrane accepted")

    # Hours, lots, a photo.
    phone.opens("hours/")
    page.locator("form[data-kind=hours]").get_by_role("button", name="4:00").click()
    phone.keeps(page.locator("form[data-kind=hours]"))
    phone.opens("materials/")
    page.get_by_label("Acrylic bonding agent").check()
    page.locator("#m-packs").fill("2")
    page.locator("#m-lot").fill("LOT-77, LOT-78")
    phone.keeps(page.locator("form[data-kind=delivery]"))
    phone.opens("photos/")
    page.locator("#p-caption").fill("Seams of the shower")
    page.locator("#p-gallery").set_input_files(picture("teal"))
    page.locator("#shots li").wait_for()

    # Stopped: the membrane cures, and there was no flood test.
    phone.opens("steps/")
    tile = page.locator("li:has(form[data-ref^='tile.set_floor_tile'])").first
    tile.locator(".tick-box").click()
    stopped = tile.locator("[data-stopped]")
    assert "Flood test: still to be checked: Flood test" in stopped.inner_text()
    assert "Tile may start at 10:06" in stopped.inner_text()
    assert tile.locator(".tick-box").get_attribute("aria-pressed") == "false"
    phone.opens("checks/")
    flood = phone.check("flood")
    flood.locator("form[data-kind=flood-start] .tap").nth(2).click()
    flood.get_by_role("button", name="Water is in").click()
    assert "The flood test may start at" in flood.locator("[data-stopped]").inner_text()
    assert not PhoneAct.objects.exists()
    entered = phone.waiting()

    phone.gets_signal()

    assert page.locator("body").get_attribute("data-refused") == "0"
    assert PhoneAct.objects.filter(outcome="done").count() == entered - 1  # one of them is the photo
    assert HoursEntry.objects.get().minutes == 240
    assert DeliveryEntry.objects.get().lot_numbers == "LOT-77, LOT-78"
    assert PhotoUpload.objects.get().caption == "Seams of the shower"
    assert Photo.objects.count() == 1
    assert not FloodStart.objects.exists()

    # Back after the cure: the flood test, a day long, read without signal.
    phone.waits(hours=25)
    phone.opens("checks/")
    phone.loses_signal()
    flood = phone.check("flood")
    flood.locator("form[data-kind=flood-start] .tap").nth(2).click()
    phone.answers(flood)
    assert flood.locator("form[data-kind=flood-end]").is_visible()
    phone.waits(hours=24, minutes=5)
    phone.opens("checks/")
    flood = phone.check("flood")
    flood.locator("form[data-kind=flood-end] .tap").nth(2).click()
    flood.get_by_label("No", exact=True).check()
    phone.answers(flood)
    phone.opens("steps/")
    tile = page.locator("li:has(form[data-ref^='tile.set_floor_tile'])").first
    tile.locator(".tick-box").click()
    page.locator("form[data-ref^='tile.set_floor_tile'] .tick-box[aria-pressed=true]").first.wait_for()
    phone.gets_signal()

    assert page.locator("body").get_attribute("data-refused") == "0"
    assert CheckRecord.objects.get(planned__key="flood").passed
    assert Mark.objects.get(subject="step").state == "done"
    # Every time is the phone's own, as it was entered, and not when it was sent.
    laid = CheckRecord.objects.filter(planned__key="laid").first().laid_at
    assert abs(laid - START - datetime.timedelta(minutes=6)) < datetime.timedelta(minutes=4)

    desk = browse(office_manager, width=1360)
    desk.goto(f"/jobs/{job.pk}/inspections/")
    assert "Flood test" in desk.content()
    desk.goto(f"/jobs/{job.pk}/log/")
    assert "LOT-77, LOT-78" in desk.content()
    assert "4:00" in desk.content()
    desk.goto(f"/jobs/{job.pk}/photos/")
    assert "Seams of the shower" in desk.content()
    assert timezone.now() > START
