"""The pages of a punch list: what each person sees and does, and that nothing typed is lost."""

import datetime
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from contracting.documents.models import DocumentRequest
from jobs.punchlist import papers
from jobs.punchlist.first_page import to_mend_section
from jobs.punchlist.models import PunchItem, PunchOverride
from jobs.punchlist.plans import plans_of
from tests.jobs.margins import factories as margins
from tests.jobs.punchlist.factories import act, add, listed_job
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db


def page(client, name, *arguments):
    return client.get(reverse(f"punchlist:{name}", args=arguments)).content.decode()


def post(client, name, *arguments, prefix="", **values):
    values = {"key": str(uuid.uuid4())} | values
    named = {f"{prefix}-{key}" if prefix else key: value for key, value in values.items()}
    return client.post(reverse(f"punchlist:{name}", args=arguments), named)


@pytest.fixture
def measured(installer, office_manager):
    return sold_job(crew=(installer,), by=office_manager)


def test_an_installer_adds_an_item_at_its_place_and_mends_it(client, installer, measured):
    client.force_login(installer)
    (plan,) = plans_of(measured)
    answer = post(
        client, "item-new", measured.pk,
        text="Chipped edge", room=plan.key, from_left="2'", from_top="12 in", owner=installer.pk,
    )  # fmt: skip
    item = PunchItem.objects.get()
    shown = page(client, "list", measured.pk)

    assert answer.status_code == 302
    assert (item.room_name, item.owner) == ("Bath 1", installer)
    # 2 ft of the plan's width and 1 ft of its depth, by hand from 8 ft by 5 ft.
    expected = (2500, 2000) if plan.width_mm > plan.depth_mm else (4000, 1250)
    assert (item.across, item.down) == expected
    assert 'data-mark="punch 1"' in shown
    assert "Chipped edge" in shown
    post(client, "mend", measured.pk, 1, prefix="mend", note="Polished")
    assert PunchItem.objects.get().state == "mended"
    own = page(client, "item", measured.pk, 1)
    assert "Polished" in own
    assert "Accept it" not in own


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"from_left": "2'"}, "A place on the plan needs both lengths, or neither."),
        ({"from_left": "30'", "from_top": "1'"}, "Read “30&#x27;”: the plan of Bath 1 reaches"),
        ({"from_left": "two", "from_top": "1'"}, "two"),
        ({"from_left": "1'", "from_top": "1'", "room": ""}, "Choose the room whose plan the place is on."),
        ({"text": ""}, "This field is required."),
        ({"due_on": "soon"}, "Enter a valid date."),
        ({"key": "x"}, "This form was not complete."),
        ({"step": "sorcery"}, "Select a valid choice."),
    ],
)
def test_a_wrong_item_is_told_in_place_and_keeps_what_was_typed(
    client, office_manager, measured, typed, said
):
    client.force_login(office_manager)
    (plan,) = plans_of(measured)
    values = {"text": "Chipped edge", "room": plan.key, "place": "under the window"} | typed
    answer = post(client, "item-new", measured.pk, **values)

    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert 'value="under the window"' in answer.content.decode()
    assert not PunchItem.objects.exists()


def test_the_office_accepts_sends_back_assigns_and_takes_off(client, office_manager, installer):
    job, _items = listed_job(installer, count=3)
    client.force_login(office_manager)
    assert "Accept it" in page(client, "item", job.pk, 1)
    empty = post(client, "reject", job.pk, 1, prefix="reject", reason="")
    assert empty.status_code == 200
    assert "This field is required." in empty.content.decode()
    post(client, "reject", job.pk, 1, prefix="reject", reason="Grout still soft")
    post(client, "mend", job.pk, 1, prefix="mend")
    post(client, "accept", job.pk, 1, prefix="accept", customer="Ada Lowell")
    post(client, "assign", job.pk, 2, prefix="assign", owner=installer.pk, due_on="2026-06-20")
    post(client, "withdraw", job.pk, 3, prefix="withdraw", reason="The plumber mends it")

    shown = page(client, "list", job.pk)
    assert [item.state for item in PunchItem.objects.order_by("number")] == ["accepted", "open", "withdrawn"]
    assert "The plumber mends it" in shown
    assert str(installer) in shown
    again = post(client, "withdraw", job.pk, 3, prefix="withdraw", reason="Once more")
    assert "it cannot become" in again.content.decode()
    assert "Once more" in again.content.decode()


def test_the_signed_list_and_the_override_are_recorded_in_sight(client, office_manager, installer):
    job, _items = listed_job(installer, count=2)
    client.force_login(office_manager)
    assert "Item 0" in page(client, "signed", job.pk)
    post(client, "signed", job.pk, customer="Ada Lowell")
    assert "In the way of completing the job" in page(client, "list", job.pk)
    short = post(client, "override", job.pk, reason="later")
    assert "Give the reason in a sentence" in short.content.decode()
    post(client, "override", job.pk, reason="The glass door comes in July")

    shown = page(client, "list", job.pk)
    assert PunchOverride.objects.count() == 1
    assert "The glass door comes in July" in shown
    assert "In the way of completing the job" not in shown
    assert "nothing has to be overridden" in page(client, "override", job.pk)


def test_somebody_elses_job_is_not_there(client, other_installer, installer):
    job, _items = listed_job(installer)
    client.force_login(other_installer)
    for name, more in (("list", []), ("item-new", []), ("item", [1])):
        assert client.get(reverse(f"punchlist:{name}", args=[job.pk, *more])).status_code == 404
    assert post(client, "mend", job.pk, 2, prefix="mend").status_code == 404
    assert "Item" not in page(client, "every-list")


def test_an_installer_sees_no_money_and_their_own_items_by_day(client, installer, other_installer):
    job, _items = listed_job(installer, other_installer, count=0)
    today = timezone.localdate()
    add(job, "Late one", owner=installer, due_on=today - datetime.timedelta(days=3))
    add(job, "For anybody")
    add(job, "Somebody else's", owner=other_installer, due_on=today)
    done = add(job, "Done already", owner=installer, due_on=today)
    act("mend", done, installer)
    client.force_login(installer)

    shown = page(client, "every-list")
    section = to_mend_section(installer)

    assert "Somebody else" not in shown
    assert "3 days overdue" in shown
    assert [item.title for item in section.items] == ["Late one", "For anybody"]
    assert "3 days overdue" in section.items[0].when
    for text in (shown, page(client, "list", job.pk), client.get("/").content.decode()):
        assert "$" not in text


def test_the_office_s_first_page_names_who_mends(office_manager, installer):
    job, _items = listed_job(installer, count=0)
    assert to_mend_section(office_manager) is None
    add(job, "Chip", owner=installer, due_on=timezone.localdate())
    (item,) = to_mend_section(office_manager).items
    assert item.detail.endswith(str(installer))
    assert "due today" in item.when


def test_the_sign_off_list_is_a_snapshot_without_money(client, office_manager, measured):
    (plan,) = plans_of(measured)
    from jobs.punchlist.services import Where

    add(measured, "Chip", where=Where(plan.key, plan.name, 100, 200, "by the door"))
    act("mend", add(measured, "Loose tile"), office_manager, note="Set again")
    act("withdraw", add(measured, "Not ours at all"), office_manager, reason="The plumber's")
    client.force_login(office_manager)

    answer = client.post(reverse("punchlist:paper", args=[measured.pk]))
    document = DocumentRequest.objects.get(kind=papers.KIND)

    assert answer.url == document.get_absolute_url()
    assert document.audience == "customer"
    assert [one["text"] for one in document.snapshot["items"]] == ["Chip", "Loose tile"]
    assert 'data-mark="punch 1"' in document.snapshot["plans"][0]["drawing"]
    assert "cents" not in str(document.snapshot)
    from django.template.loader import render_to_string

    html = render_to_string("punchlist/sign_off_paper.html", papers.paper_context(document.snapshot))
    assert "Loose tile" in html
    assert "One item is still to be mended; we come back for it." in html


@pytest.mark.parametrize("name", ["list", "every-list", "item"])
def test_as_many_queries_for_two_items_as_for_twenty(
    client, office_manager, installer, django_assert_max_num_queries, name
):
    client.force_login(office_manager)
    job, _items = listed_job(installer, count=2)
    counts = []
    for wanted in (2, 20):
        while PunchItem.objects.count() < wanted:
            other = margins.job(installer, stage="punch") if name == "every-list" else job
            act("mend", add(other), installer)
            add(other, owner=installer)
        address = reverse(f"punchlist:{name}", args={"list": [job.pk], "item": [job.pk, 1]}.get(name, []))
        with django_assert_max_num_queries(14) as counted:
            assert client.get(address).status_code == 200
        counts.append(len(counted))
    assert counts[0] == counts[1]
