"""Pages of photos: the gallery, one photo, sending some by an ordinary form, saying what one shows."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.photos import selectors, services, storing
from jobs.photos.models import About, Description, Photo
from tests.jobs.inspections.factories import check, planned_job
from tests.jobs.inspections.factories import record as look_at

from .factories import as_file, exif, job, photo, scene

pytestmark = pytest.mark.django_db


def files(*named: tuple[str, bytes]) -> list[SimpleUploadedFile]:
    return [SimpleUploadedFile(name, content) for name, content in named]


def form(**values) -> dict:
    return {"key": str(uuid.uuid4()), "about": "job:", "caption": ""} | values


@pytest.fixture
def crew(client, installer):
    client.force_login(installer)
    return client


# --- Sending by an ordinary form ---


def test_several_photos_of_one_form_are_stored_with_what_was_said(crew, installer):
    made = job(crew=(installer,))
    sent = files(("a.jpg", as_file()), ("b.png", as_file(scene(seed=2), "PNG")))

    answer = crew.post(
        reverse("photos:add", args=[made.pk]),
        form(photos=sent, about="step:tile", caption="First row"),
        follow=True,
    )

    assert answer.redirect_chain == [(reverse("photos:gallery", args=[made.pk]), 302)]
    assert "2 photos are stored." in answer.content.decode()
    photos = selectors.photos_of(made)
    assert {one.kind for one in photos} == {"jpeg", "png"}
    assert {(one.said.caption, one.said.about_kind, one.said.about_ref) for one in photos} == {
        ("First row", "step", "tile")
    }


def test_a_refused_file_is_named_with_its_reason_and_the_good_ones_are_kept(crew, installer):
    made = job(crew=(installer,))
    address = reverse("photos:add", args=[made.pk])
    good = as_file()
    sent = files(("good.jpg", good), ("film.gif", as_file(kind="GIF")), ("cut.jpg", good[: len(good) // 2]))
    told = form(photos=sent, caption="Curb", about="step:tile")

    answer = crew.post(address, told)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "“film.gif”: This is a GIF, whatever it is called: expected JPEG, PNG, HEIC or WebP." in page
    assert "“cut.jpg”: The photo is cut off or damaged and cannot be opened. Send it again." in page
    assert "good.jpg" not in page
    assert "1 photo of these is stored; it need not be sent again." in page
    assert 'value="Curb"' in page
    assert '<option value="step:tile" selected>' in page
    assert Photo.objects.count() == 1
    # The good one chosen once more beside a better file is not doubled.
    crew.post(address, told | {"photos": files(("good.jpg", good), ("whole.jpg", as_file(scene(seed=3))))})
    assert Photo.objects.count() == 2


def test_a_form_sent_twice_stores_its_photos_once(crew, installer):
    made, told = job(crew=(installer,)), form()
    for _time in range(2):
        crew.post(reverse("photos:add", args=[made.pk]), told | {"photos": files(("a.jpg", as_file()))})

    assert Photo.objects.count() == 1


def test_the_camera_s_field_counts_as_well(crew, installer):
    made = job(crew=(installer,))

    crew.post(reverse("photos:add", args=[made.pk]), form(camera=files(("a.jpg", as_file()))))

    assert Photo.objects.count() == 1


def test_a_form_without_a_file_asks_for_one_beside_the_field(crew, installer):
    made = job(crew=(installer,))

    page = crew.post(reverse("photos:add", args=[made.pk]), form(caption="x")).content.decode()

    assert "Choose at least one photo." in page
    assert 'value="x"' in page


def test_a_file_over_the_limit_is_refused_before_it_is_read(crew, installer, settings):
    settings.PHOTO_MAX_BYTES = 20_000
    made, sent = job(crew=(installer,)), files(("large.jpg", as_file(scene(1200, 900), quality=95)))

    page = crew.post(reverse("photos:add", args=[made.pk]), form(photos=sent)).content.decode()

    assert "“large.jpg”: The file has" in page
    assert "at most 0.0 MB" not in page
    assert not Photo.objects.exists()


def test_from_a_check_its_photos_come_back_to_it(crew, installer):
    made = planned_job(crew=(installer,))
    planned = check(made, "side_laps")
    address = planned.get_absolute_url()
    opened = crew.get(address)
    told = form(photos=files(("lap.jpg", as_file())), about=opened.context["photo_about"], back=address)

    answer = crew.post(reverse("photos:add", args=[made.pk]), told)

    assert (answer.status_code, answer.headers["Location"]) == (302, address)
    taken = Photo.objects.get()
    page = crew.get(address).content.decode()
    assert reverse("photos:small", args=[taken.pk]) in page
    assert reverse("photos:photo", args=[taken.pk]) in page


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example", "javascript:x"])
def test_the_way_back_never_leads_elsewhere(crew, installer, back):
    made = job(crew=(installer,))
    told = form(photos=files(("a.jpg", as_file())), back=back)

    answer = crew.post(reverse("photos:add", args=[made.pk]), told)

    assert answer.headers["Location"] == reverse("photos:gallery", args=[made.pk])


# --- The pages ---


def test_the_gallery_groups_by_day_room_and_step(crew, installer):
    made = planned_job(crew=(installer,))
    planned = check(made, "side_laps")
    first = as_file(exif=exif(taken="2026:06:01 09:00:00"))
    second = as_file(scene(seed=2), exif=exif(taken="2026:06:02 09:00:00"))
    photo(made, installer, first, about=About.CHECK, ref=str(planned.pk))
    photo(made, installer, second, about=About.STEP, ref="tile", caption="First row")
    address = reverse("photos:gallery", args=[made.pk])

    def headings(way):
        return [group.heading for group in crew.get(address, {"by": way}).context["groups"]]

    assert headings("day") == ["Tuesday, June 2, 2026", "Monday, June 1, 2026"]
    assert headings("room") == ["Hall bath", "The whole job"]
    assert headings("step") == ["Tile setting", "Membrane"]
    assert headings("nonsense") == headings("day")


def test_times_are_those_of_the_site_and_a_camera_that_differs_is_told(crew, installer):
    # 10:30 at -05:00 is 15:30 UTC; the phone says 17:00 UTC, 12:00 in Chicago.
    import datetime

    made = job(crew=(installer,))
    moment = datetime.datetime(2026, 6, 1, 17, 0, tzinfo=datetime.UTC)
    taken = photo(made, installer, as_file(exif=exif()), taken_at=moment)

    page = crew.get(taken.get_absolute_url()).content.decode()

    assert "Jun 1, 2026, 12:00 PM" in page
    assert "the camera says Jun 1, 2026, 10:30 AM" in page


def test_where_a_photo_was_taken_is_kept_only_if_the_company_says_so(crew, installer):
    from contracting.staff.models import CompanyProfile

    made = job(crew=(installer,))
    without = photo(made, installer, as_file(exif=exif()))
    CompanyProfile.objects.update_or_create(pk=1, defaults={"name": "Tile", "keeps_photo_location": True})
    kept = photo(made, installer, as_file(scene(seed=2), exif=exif()))

    assert (without.latitude, without.longitude) == (None, None)
    assert (kept.latitude, kept.longitude) == pytest.approx((411_234_560, -876_543_210), abs=2)
    assert "41.1235, -87.6543" in crew.get(kept.get_absolute_url()).content.decode()
    # In the row, for those who may see it; never in the file.
    for sha256 in (kept.sha256, kept.paper_sha256, kept.small_sha256):
        assert b"Exif" not in storing.read(sha256)


def test_arrows_and_caption_are_said_anew_and_the_old_ones_stay_on_record(crew, installer):
    made = job(crew=(installer,))
    taken = photo(made, installer, caption="Lap")
    address = reverse("photos:describe", args=[taken.pk])
    opened = crew.get(address).context["form"]
    told = form(
        old=opened.initial["old"],
        caption="Lap, 2 in",
        about="step:tile",
        arrows="10 20 50.5 60\n90 90 70 70\n",
    )

    answer = crew.post(address, told, follow=True)

    said = Photo.objects.get().said
    assert (said.caption, said.about_ref) == ("Lap, 2 in", "tile")
    assert said.arrows == [[1000, 2000, 5050, 6000], [9000, 9000, 7000, 7000]]
    assert said.supersedes.caption == "Lap"
    page = answer.content.decode()
    assert "Said before" in page
    assert page.count('<g class="arrow"') == 2
    # The same form again changes nothing.
    crew.post(address, told)
    assert Description.objects.count() == 2


@pytest.mark.parametrize(
    ("arrows", "said"),
    [
        ("10 20 50", "Read “10 20 50”: expected four numbers from 0 to 100"),
        ("10 20 50 abc", "expected four numbers"),
        ("10 20 50 101", "The arrows cannot be read; draw them again."),
        ("-1 20 50 60", "expected four numbers"),
        ("10 20 10 20", "An arrow needs two ends."),
        ("1 2 3 4\n" * 21, "At most 20 arrows"),
    ],
)
def test_arrows_that_cannot_be_are_told_beside_the_field(crew, installer, arrows, said):
    taken = photo(job(crew=(installer,)), installer)
    address = reverse("photos:describe", args=[taken.pk])
    told = form(old=taken.said.pk, caption="kept words", arrows=arrows)

    page = crew.post(address, told).content.decode()

    assert said in page
    assert "kept words" in page
    assert Description.objects.count() == 1


def test_of_two_who_describe_a_photo_the_second_is_told(crew, installer):
    taken = photo(job(crew=(installer,)), installer)
    address, old = reverse("photos:describe", args=[taken.pk]), taken.said.pk
    crew.post(address, form(old=old, caption="First"))

    page = crew.post(address, form(old=old, caption="Second")).content.decode()

    assert "Somebody has described this photo anew" in page
    assert 'value="Second"' in page


def test_another_s_photo_is_described_by_the_office_only(client, installer, other_installer, office_manager):
    made = job(crew=(installer, other_installer))
    address = reverse("photos:describe", args=[photo(made, installer).pk])

    client.force_login(other_installer)
    assert client.get(address).status_code == 403
    client.force_login(office_manager)
    assert client.get(address).status_code == 200


def test_a_withdrawn_photo_is_gone_for_the_crew_and_shown_with_its_reason_to_the_office(
    client, installer, office_manager
):
    made = job(crew=(installer,))
    taken = photo(made, installer, caption="A face")
    client.force_login(office_manager)
    assert (
        "Say why"
        in client.post(reverse("photos:withdraw", args=[taken.pk]), {"reason": "no"}).content.decode()
    )

    client.post(reverse("photos:withdraw", args=[taken.pk]), {"reason": "Shows a neighbour."})

    assert selectors.photo_count(made) == 0
    page = client.get(reverse("photos:gallery", args=[made.pk])).content.decode()
    assert "Shows a neighbour." in page
    assert client.get(taken.get_absolute_url()).status_code == 200
    assert client.get(reverse("photos:describe", args=[taken.pk])).status_code == 403
    client.force_login(installer)
    for name in ("photo", "file", "small"):
        assert client.get(reverse(f"photos:{name}", args=[taken.pk])).status_code == 404
    assert "Shows a neighbour." not in client.get(reverse("photos:gallery", args=[made.pk])).content.decode()


# --- The files ---


def test_a_picture_is_handed_to_its_crew_and_the_office_and_nobody_else(
    client, installer, other_installer, office_manager
):
    taken = photo(job(crew=(installer,)), installer)
    address = reverse("photos:file", args=[taken.pk])

    assert client.get(address).status_code == 302
    client.force_login(other_installer)
    assert client.get(address).status_code == 404
    for person in (installer, office_manager):
        client.force_login(person)
        answer = client.get(address)
        assert b"".join(answer.streaming_content) == storing.read(taken.sha256)
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["Cache-Control"] == "private, max-age=600"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "Cookie" in answer.headers["Vary"]
        again = client.get(address, headers={"If-None-Match": answer.headers["ETag"]})
        assert (again.status_code, again.content) == (304, b"")


def test_the_store_s_folder_is_not_served(client, installer):
    taken = photo(job(crew=(installer,)), installer)
    client.force_login(installer)

    for address in (
        f"/media/{storing.name_of(taken.sha256)}",
        f"/{storing.name_of(taken.sha256)}",
        "/photos/",
    ):
        assert client.get(address).status_code == 404


def test_a_picture_that_is_gone_from_the_store_is_a_404(crew, installer):
    from django.core.files.storage import default_storage

    taken = photo(job(crew=(installer,)), installer)
    default_storage.delete(storing.name_of(taken.sha256))

    assert crew.get(reverse("photos:file", args=[taken.pk])).status_code == 404


# --- Queries, words ---


@pytest.mark.parametrize("way", ["day", "room", "step"])
def test_the_gallery_asks_as_often_for_two_photos_as_for_twenty(client, office_manager, way, settings):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    made = planned_job()
    planned = check(made, "side_laps")
    client.force_login(office_manager)
    address = reverse("photos:gallery", args=[made.pk])
    counts = []
    for total in (2, 20):
        for n in range(Photo.objects.count(), total):
            about, ref = (About.CHECK, str(planned.pk)) if n % 2 else (About.JOB, "")
            taken = photo(made, office_manager, as_file(scene(64, 48, n)), about=about, ref=ref)
            if n in {1, 5, 6}:
                services.photo_withdraw(photo=taken, reason="Blurred.", by=office_manager)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address, {"by": way}).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 14, counts


def test_the_log_shows_the_photos_of_its_days_and_asks_as_often_for_twenty(crew, installer):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    made = job(crew=(installer,))
    address = reverse("work:log", args=[made.pk])
    counts = []
    for total in (2, 20):
        for n in range(Photo.objects.count(), total):
            photo(made, installer, as_file(scene(64, 48, n)))
        with CaptureQueriesContext(connection) as queries:
            page = crew.get(address).content.decode()
        counts.append(len(queries))
        assert page.count("/small.jpg") == total
    assert counts[0] == counts[1], counts


def test_a_job_links_to_its_photos_with_their_number(crew, installer):
    from tests.jobs.work.factories import job as sold_job

    made = sold_job(crew=(installer,))
    photo(made, installer)

    page = crew.get(made.get_absolute_url()).content.decode()

    assert f'href="{reverse("photos:gallery", args=[made.pk])}">Photos 1</a>' in page


def test_an_installer_reads_spanish(crew, installer):
    installer.language = "es"
    installer.save()
    made = job(crew=(installer,))
    taken = photo(made, installer, caption="Traslape")

    gallery = crew.get(reverse("photos:gallery", args=[made.pk])).content.decode()
    assert "Fotos" in gallery
    for english in ("Add photos", "Belongs to", "Send the photos", "by day", "The whole job"):
        assert english not in gallery
    for name in ("photo", "describe"):
        page = crew.get(reverse(f"photos:{name}", args=[taken.pk])).content.decode()
        for english in ("Caption", "Taken", "Arrived", "Save", "arrow"):
            assert f">{english}" not in page
    refused = crew.post(
        reverse("photos:add", args=[made.pk]), form(photos=files(("a.gif", as_file(kind="GIF"))))
    ).content.decode()
    assert "whatever it is called" not in refused
    assert "un GIF" in refused


def test_a_check_that_was_corrected_keeps_its_photos(crew, installer):
    made = planned_job(crew=(installer,))
    planned = check(made, "side_laps")
    photo(made, installer, about=About.CHECK, ref=str(planned.pk))
    look_at(planned, installer)

    assert crew.get(planned.get_absolute_url()).content.decode().count("/small.jpg") == 1
