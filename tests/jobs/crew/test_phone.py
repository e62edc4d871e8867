"""The crew's pages on a phone, in Chromium: who is signed in, wrong clocks, refused entries, no script."""

import datetime
import io
import time

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from jobs.crew.models import Mark, PhoneAct
from jobs.crew.phone import PAGES
from jobs.photos.models import Photo, PhotoUpload
from jobs.work.models import DayNote, HoursEntry, ProgressEntry
from tests.jobs.crew.factories import NO_BACKGROUND_SYNC
from tests.jobs.inspections.factories import pass_all
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db(transaction=True)

PHONE = {"width": 390, "height": 844}
GLOVE_PX = 48  # our own rule; WCAG 2.2 asks for 24 (2.5.8)


def opens(page, address):
    page.goto(address)
    page.locator("body[data-ready]").wait_for()


def kept(page, address):
    """Open a page and wait until the phone has kept every page of the job."""
    opens(page, address)
    page.locator("body[data-warm]").wait_for(timeout=60_000)


def waits(page, count):
    page.locator(f"body[data-waiting='{count}']").wait_for(timeout=30_000)


def has_kept(page, count):
    """Wait until the phone has kept so many entries in all, sent or not."""
    page.wait_for_function("count => crew.store.of('acts').then(all => all.length === count)", arg=count)


def notes(page, text):
    page.locator("#n-text").fill(text)
    page.locator("form[data-kind=note] button.btn").click()
    # The form is cleared when the phone has stored the entry; before that nothing waits yet.
    page.wait_for_function("document.querySelector('#n-text').value === ''")


def picture(name, kind):
    """A photo as a phone hands it over, taken on 4 May 2026."""
    image = Image.new("RGB", (4000, 3000), "teal")
    exif = image.getexif()
    exif.get_ifd(0x8769)[0x9003] = "2026:05:04 09:15:00"
    content = io.BytesIO()
    image.save(content, kind, exif=exif)
    return {"name": name, "mimeType": f"image/{kind.lower()}", "buffer": content.getvalue()}


def signs_in_as(page, live_server, person):
    client = Client()
    client.force_login(person)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    page.context.add_cookies([cookie])


def test_a_session_that_ends_without_signal_keeps_the_entries(browse, live_server, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    page.context.set_offline(True)
    notes(page, "Joists are wet")
    waits(page, 1)
    page.context.clear_cookies()
    page.context.set_offline(False)
    page.evaluate("crew.sync.soon()")

    page.get_by_role("link", name="You are signed out.").wait_for()
    assert not PhoneAct.objects.exists()
    signs_in_as(page, live_server, installer)
    page.evaluate("crew.sync.soon()")
    waits(page, 0)

    assert PhoneAct.objects.get().fields["text"] == "Joists are wet"


def test_another_person_on_the_same_phone_never_sends_the_first_one_s_entries(
    browse, live_server, installer, other_installer
):
    job = sold_job(crew=(installer, other_installer))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    page.context.set_offline(True)
    notes(page, "Ivo was here")
    waits(page, 1)
    page.goto("about:blank")
    page.context.clear_cookies()
    signs_in_as(page, live_server, other_installer)
    page.context.set_offline(False)

    opens(page, reverse("crew:notes", args=[job.pk]))
    notes(page, "Odile was here")
    waits(page, 0)
    opens(page, reverse("crew:waiting"))

    said = page.locator("#outbox-others").inner_text()
    assert "Ivo has entries waiting on this phone (1)" in said
    assert "Ivo was here" not in page.locator("main").inner_text()
    assert [act.person for act in PhoneAct.objects.all()] == [other_installer]
    # What was kept of the first one's pages is gone.
    assert page.evaluate("caches.keys().then(all => all.filter(one => one.startsWith('crew-pages')))") == [
        f"crew-pages-{other_installer.pk}"
    ]
    page.context.clear_cookies()
    signs_in_as(page, live_server, installer)
    opens(page, reverse("crew:waiting"))
    waits(page, 0)
    assert PhoneAct.objects.get(person=installer).fields["text"] == "Ivo was here"


def test_signing_out_warns_of_what_waits_and_takes_the_pages_along(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    page.context.set_offline(True)
    notes(page, "Not sent yet")
    waits(page, 1)
    opens(page, reverse("crew:today"))
    said = []
    page.once("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    with page.expect_event("dialog"):
        page.get_by_role("button", name="Sign Ivo out").click()

    assert said == ["Entries not sent yet: 1. They stay on this phone until you sign in here again."]
    assert page.url.endswith("/crew/")
    page.context.route("**/crew/acts/", lambda route: route.abort())
    page.context.set_offline(False)
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Sign Ivo out").click()
    page.wait_for_url("**/sign-in/")

    assert page.evaluate("caches.keys()") == ["crew-shell"]
    counted = "indexedDB.databases().then(all => all.map(one => one.name))"
    assert page.evaluate(counted) == ["ledgerboard-crew"]


def test_a_refused_entry_says_why_and_is_mended(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    opens(page, reverse("crew:hours", args=[job.pk]))
    page.locator("#hours-minutes").fill("nine")
    page.locator("form[data-kind=hours] button.btn").click()
    page.locator("body[data-refused='1']").wait_for()

    opens(page, reverse("crew:waiting"))
    assert "Read “nine”: expected a time such as 7:30." in page.locator("#refused-list .why").inner_text()
    page.get_by_role("link", name="Mend").click()
    page.locator("body[data-ready]").wait_for()
    page.locator("form[data-mends]").wait_for(state="attached")
    assert page.locator("#hours-minutes").input_value() == "nine"
    page.locator("#hours-minutes").fill("9:00")
    page.locator("form[data-kind=hours] button.btn").click()
    page.locator("body[data-refused='0'][data-waiting='0']").wait_for()

    assert HoursEntry.objects.get().minutes == 540


def test_a_phone_whose_clock_is_two_hours_behind_starts_its_batch_now(browse, installer):
    job = sold_job(crew=(installer,))
    pass_all(job, installer, "substrate accepted")
    page = browse(installer, **PHONE)
    page.clock.install(time=timezone.now() - datetime.timedelta(hours=2))
    page.add_init_script(NO_BACKGROUND_SYNC)
    kept(page, reverse("crew:batches", args=[job.pk]))
    page.context.set_offline(True)
    page.get_by_role("button", name="Agent is spread: start the clock").first.click()
    waits(page, 1)
    # The clock that runs on the page runs from now, too.
    assert page.locator("#batch-1 [data-clock]").inner_text().startswith(("14:5", "15:00"))
    page.context.set_offline(False)
    page.evaluate("crew.sync.soon()")
    waits(page, 0)

    mark = Mark.objects.get()
    assert abs(timezone.now() - mark.at) < datetime.timedelta(minutes=1)
    assert abs(mark.act.offset_ms - 7_200_000) < 10_000


def test_a_timer_survives_a_phone_that_goes_dead(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    now = timezone.now()
    page.clock.install(time=now)
    page.add_init_script(NO_BACKGROUND_SYNC)
    kept(page, reverse("crew:hours", args=[job.pk]))
    page.context.set_offline(True)
    page.locator("#timer").get_by_label("Waterproofing").check()
    page.get_by_role("button", name="Start the timer").click()
    waits(page, 1)
    page.close()

    page = page.context.new_page()
    page.clock.install(time=now + datetime.timedelta(hours=3, minutes=25))
    page.add_init_script(NO_BACKGROUND_SYNC)
    opens(page, reverse("crew:hours", args=[job.pk]))
    assert page.locator("#timer [data-clock]").inner_text().startswith("3 h 2")
    page.locator("#timer").get_by_role("button", name="−30 min").click()
    page.get_by_role("button", name="Stop and log it").click()
    waits(page, 2)
    fields = page.evaluate("crew.store.of('acts').then(all => all[1].fields)")

    assert (fields["step"], fields["minutes"][:3]) == ("waterproofing", "2:5")


def test_without_script_the_pages_are_ordinary_forms(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE, java_script_enabled=False)
    page.goto(reverse("crew:cuts", args=[job.pk]))
    page.locator(".tick-box").first.click()
    page.goto(reverse("crew:hours", args=[job.pk]))
    page.locator("#hours-minutes").fill("7:30")
    page.locator("form[data-kind=hours] button.btn").click()

    assert Mark.objects.get().state == "done"
    assert HoursEntry.objects.get().minutes == 450


def test_a_photo_is_shrunk_here_and_heic_is_sent_as_it_is(browse, installer):
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    opens(page, reverse("crew:photos", args=[job.pk]))
    files = [picture("large.jpg", "JPEG"), picture("phone.heic", "HEIF")]
    page.locator("#p-about").select_option(label="Floor, Bath 1")
    page.locator("#p-gallery").set_input_files(files)
    page.locator("#shots li:nth-child(2)").wait_for()
    waits(page, 0)

    assert Photo.objects.count() == 2
    sizes = sorted(Photo.objects.values_list("width", "height"))
    assert sizes[0] == (2048, 1536)
    uploads = {upload.size for upload in PhotoUpload.objects.all()}
    assert len(files[1]["buffer"]) in uploads
    assert {upload.about_kind for upload in PhotoUpload.objects.all()} == {"surface"}
    # The picture's own time, and not that of the upload.
    assert {upload.taken_at.date() for upload in PhotoUpload.objects.all()} >= {datetime.date(2026, 5, 4)}


def test_the_service_worker_sends_what_waits_with_the_page_closed(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    context = page.context
    (worker,) = context.service_workers
    page.context.set_offline(True)
    notes(page, "Sent by the worker")
    waits(page, 1)
    page.close()
    assert not PhoneAct.objects.exists()
    context.set_offline(False)

    # What the browser's Background Sync event calls; the event itself cannot be made by script.
    # It may have come by itself meanwhile.
    assert worker.evaluate("sendWaiting()") in {"done", "busy"}

    for _try in range(100):
        if PhoneAct.objects.exists():
            break
        time.sleep(0.1)
    assert PhoneAct.objects.get().fields["text"] == "Sent by the worker"


@pytest.mark.parametrize("width", [360, 390, 1360])
def test_nothing_hangs_over_and_every_target_takes_a_glove(browse, installer, width):
    job = sold_job(crew=(installer,))
    page = browse(installer, width=width, height=844)
    addresses = [reverse(f"crew:{name}", args=[job.pk]) for name in PAGES]
    for address in [*addresses, reverse("crew:today"), reverse("crew:waiting")]:
        opens(page, address)
        page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")

        assert page.evaluate("document.documentElement.scrollWidth") <= width, address
        wanted = (
            ".btn, .tap, .tick, .tick-box, summary, .tiles a, .crew-bar a, .crew-head a, select, textarea"
        )
        for target in page.locator(wanted).all():
            box = target.bounding_box()
            if box and box["width"]:
                assert min(box["height"], box["width"]) >= GLOVE_PX, (address, target.inner_text())


def test_no_page_of_the_crew_shows_money(client, installer):
    job = sold_job(crew=(installer,))
    client.force_login(installer)
    for name in PAGES:
        text = client.get(reverse(f"crew:{name}", args=[job.pk])).content.decode()

        assert "$" not in text
        for word in ("price", "margin", "cost_cents", "invoice"):
            assert word not in text.lower(), (name, word)


def test_a_double_tap_enters_once(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    page.context.set_offline(True)
    page.locator("#n-text").fill("Once")
    page.locator("form[data-kind=note] button.btn").dblclick()
    waits(page, 1)
    assert not page.locator(".error").count()
    opens(page, reverse("crew:cuts", args=[job.pk]))
    page.locator(".tick-box").first.dblclick()
    waits(page, 2)

    page.wait_for_timeout(800)
    assert page.locator("body").get_attribute("data-waiting") == "2"
    assert page.locator(".tick-box").first.get_attribute("aria-pressed") == "true"


def test_a_link_tapped_right_after_a_form_or_a_photo_waits_until_the_phone_has_kept_it(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    kept(page, reverse("crew:notes", args=[job.pk]))
    page.context.set_offline(True)
    # A slow phone: it begins to write a second after the tap.
    page.evaluate("""() => {
        const add = crew.queue.add;
        crew.queue.add = async (act) => (await new Promise((done) => setTimeout(done, 1000)), add(act));
    }""")
    page.locator("#n-text").fill("Drain is off centre")
    page.locator("form[data-kind=note] button.btn").click()
    page.locator(f"a[href='{reverse('crew:hours', args=[job.pk])}']").first.click()
    page.wait_for_url("**/hours/")
    waits(page, 1)

    opens(page, reverse("crew:photos", args=[job.pk]))
    page.evaluate("""() => {
        const keep = crew.photos.keep;
        crew.photos.keep = async (...all) => (await new Promise((go) => setTimeout(go, 700)), keep(...all));
    }""")
    page.locator("#p-gallery").set_input_files([picture("one.jpg", "JPEG"), picture("two.png", "PNG")])
    page.locator(f"a[href='{reverse('crew:hours', args=[job.pk])}']").first.click()
    page.wait_for_url("**/hours/")
    waits(page, 3)


def test_what_is_typed_and_not_entered_is_there_again_until_it_is_entered(browse, installer, other_installer):
    job = sold_job(crew=(installer, other_installer))
    address = reverse("crew:notes", args=[job.pk])
    page = browse(installer, **PHONE)
    kept(page, address)
    page.context.set_offline(True)
    page.get_by_text("Delay", exact=True).click()
    page.get_by_text("Another trade").click()
    page.locator("[data-fill=n-minutes]").first.click()
    page.locator("#n-text").fill("Plumber has the floor")

    page.locator(f"a[href='{reverse('crew:hours', args=[job.pk])}']").first.click()
    page.wait_for_url("**/hours/")
    # Half of another form, on another page.
    page.locator("#hours-minutes").fill("7:1")
    opens(page, address)

    assert page.locator("#crew-said").inner_text().startswith("What you had typed here is still here")
    assert page.locator("#n-text").input_value() == "Plumber has the floor"
    assert page.locator("#n-minutes").input_value() != ""
    assert page.locator("[name=kind][value=delay]").is_checked()
    page.locator("form[data-kind=note] button.btn").click()
    waits(page, 1)
    opens(page, address)
    assert page.locator("#n-text").input_value() == ""
    assert page.locator("[name=kind][value=other]").is_checked()
    opens(page, reverse("crew:hours", args=[job.pk]))
    assert page.locator("#hours-minutes").input_value() == "7:1"
    # Nobody else's page shows it.
    page.evaluate(
        "facts => { localStorage[`crew-drafts-${facts[1]}`] = localStorage[`crew-drafts-${facts[0]}`]; "
        "delete localStorage[`crew-drafts-${facts[0]}`]; }",
        [installer.pk, other_installer.pk],
    )
    opens(page, reverse("crew:hours", args=[job.pk]))
    assert page.locator("#hours-minutes").input_value() == ""
    page.context.set_offline(False)
    page.evaluate("crew.page.sync()")
    waits(page, 0)
    note = DayNote.objects.get()
    assert (note.kind, note.cause, note.text) == ("delay", "trade", "Plumber has the floor")


def test_a_page_that_dies_the_moment_an_entry_is_kept_does_not_offer_it_again(browse, installer):
    job = sold_job(crew=(installer,))
    address = reverse("crew:notes", args=[job.pk])
    page = browse(installer, **PHONE)
    kept(page, address)
    page.context.set_offline(True)
    page.evaluate("crew.drafts.drop = () => undefined")  # it never came to this
    notes(page, "Drain is off centre")

    opens(page, address)

    waits(page, 1)
    assert page.locator("#n-text").input_value() == ""


def test_a_correction_of_a_refused_entry_is_kept_while_it_is_typed(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    opens(page, reverse("crew:hours", args=[job.pk]))
    page.locator("#hours-minutes").fill("nine")
    page.locator("form[data-kind=hours] button.btn").click()
    page.locator("body[data-refused='1']").wait_for()
    opens(page, reverse("crew:waiting"))
    page.get_by_role("link", name="Mend").click()
    page.locator("form[data-mends]").wait_for(state="attached")
    page.locator("#hours-minutes").fill("9:0")

    opens(page, reverse("crew:hours", args=[job.pk]))
    assert page.locator("#hours-minutes").input_value() == ""
    opens(page, reverse("crew:waiting"))
    page.get_by_role("link", name="Mend").click()
    page.locator("form[data-mends]").wait_for(state="attached")

    page.wait_for_function("document.querySelector('#hours-minutes').value === '9:0'")


def test_a_delay_weather_and_what_is_done_are_entered_by_taps(browse, installer):
    job = sold_job(crew=(installer,))
    page = browse(installer, **PHONE)
    opens(page, reverse("crew:notes", args=[job.pk]))
    note = page.locator("form[data-kind=note]")
    note.get_by_label("Delay").check()
    note.get_by_label("Another trade").check()
    note.get_by_role("button", name="1:00").click()
    note.get_by_role("button", name="Log it").click()
    has_kept(page, 1)
    note.get_by_label("Weather and temperatures").check()
    note.get_by_role("button", name="40", exact=True).first.click()
    note.get_by_role("button", name="60", exact=True).last.click()
    note.get_by_role("button", name="Damp air").click()
    note.get_by_role("button", name="Log it").click()
    has_kept(page, 2)
    page.get_by_role("button", name="75", exact=True).click()
    page.locator("form[data-kind=progress]").get_by_role("button", name="Log it").click()
    has_kept(page, 3)
    waits(page, 0)

    delay, weather = DayNote.objects.order_by("pk")
    assert (delay.kind, delay.cause, delay.minutes) == ("delay", "trade", 60)
    # 40 °F and 60 °F in tenths of a degree Celsius.
    assert (weather.low_tenths, weather.high_tenths, weather.text) == (44, 156, "Damp air")
    assert ProgressEntry.objects.get().done_basis_points == 7500
