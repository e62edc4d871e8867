"""Rubbish into every form and every upload of the site: a refusal in words, never a failure of the server.

The addresses come from the resolver and their objects from the permission table, so a new page is tried
without being named here. Forms are read from the pages themselves: what a browser would post is posted again
with one kind of rubbish in every field, then with rubbish in one field at a time.
"""

import io
import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import get_resolver, reverse

from tests.contracting.factories import UserFactory
from tests.test_permissions import OBJECTS, TABLE, _names

pytestmark = pytest.mark.django_db

# Signing out or changing the password would end the session that the rest is tried with.
LEAVING = {"staff:sign-out", "staff:password", "staff:sign-in", "health"}
RUBBISH = {
    "empty": "",
    "blank": " \t\n",
    "letters": "abc",
    "long": "x" * 20_000,
    "NUL": "a\x00b",
    "emoji": "\U0001f9f1\U0001f469\u200d\U0001f527",
    "lone surrogate": "\ud800",
    "negative": "-1",
    "fraction": "1/0",
    "NaN": "NaN",
    "infinity": "-Infinity",
    "exponent": "1e309",
    "huge number": "9" * 400,
    "past a database integer": "9223372036854775808",
    "full-width digits": "\uff11\uff12",
    "arabic digits": "\u0661\u0662",
    "superscript": "\u00b2",
    "markup": "<script>alert(1)</script>{{ 7 }}{% now %}",
    "SQL": "'; DROP TABLE staff_user; --",
    "path": "../../etc/passwd",
    "right to left": "\u202egnp.exe",
    "date": "0000-00-00",
    "far date": "9999-12-31",
    "early date": "0001-01-01",
    "JSON": '{"a": [1]}',
    "line ends": "a\r\nb\rc",
}
ONE_AT_A_TIME = ("NUL", "letters", "negative", "huge number", "past a database integer", "superscript")
FILES = {
    "an empty file": b"",
    "a picture's beginning": b"\x89PNG\r\n\x1a\n" + b"\x00" * 64,
    "a program": b"\x7fELF\x02\x01\x01" + bytes(range(256)) * 4,
    "UTF-16": "code,price\nM-1,3".encode("utf-16"),
    "rows without commas": b"abc\n" * 1000,
    "quotes left open": b'code,price\n"M-1,"3\n',
    "a NUL": b"code,price\nM-1,\x003\n",
    "one line of 3 MB": b"," * 3_000_000,
}


class Form:
    """A form as it stands on a page: its method, action and what a browser would send."""

    def __init__(self, method: str, action: str) -> None:
        self.method = method
        self.action = action
        self.fields: dict[str, str] = {}
        self.files: list[str] = []
        self.buttons: list[tuple[str, str]] = []


class Forms(HTMLParser):
    """Collects the forms of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Form] = []
        self.select = ""

    def handle_starttag(self, tag: str, pairs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in pairs}
        if tag == "form":
            self.found.append(Form(values.get("method", "get").lower(), values.get("action", "")))
        elif self.found and (name := values.get("name") or (self.select if tag == "option" else "")):
            self._field(self.found[-1], tag, name, values)

    def _field(self, form: Form, tag: str, name: str, values: dict[str, str]) -> None:
        kind = values.get("type", "")
        if tag == "select":
            self.select = name
            form.fields[name] = ""
        elif tag == "option" and ("selected" in values or not form.fields[name]):
            form.fields[name] = values.get("value", "")
        elif tag == "button":
            form.buttons.append((name, values.get("value", "")))
        elif tag == "input" and kind == "file":
            form.files.append(name)
        elif tag == "textarea" or (tag == "input" and kind not in {"checkbox", "radio"}):
            form.fields[name] = values.get("value", "")
        elif tag == "input":
            form.fields[name] = values.get("value", "on")

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self.select = ""


NAMES = [name for name in dict.fromkeys(_names(get_resolver())) if name not in LEAVING]
POSTED = [name for name in NAMES if name not in TABLE or any(row[0] == "post" for row in TABLE[name])]


def address_of(name: str) -> str:
    return reverse(name, args=OBJECTS[name]() if name in OBJECTS else [])


@pytest.fixture
def owner_client() -> Client:
    """The owner may open every form; a failure is answered and not raised, as it would be to a browser."""
    client = Client(raise_request_exception=False)
    client.force_login(UserFactory(role="owner"))
    return client


class Sweep:
    """Posts and keeps what the server failed at; nothing posted stays stored."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.failed: list[str] = []
        self.count = 0

    def post(self, said: str, address: str, fields: dict[str, object]) -> None:
        self.count += 1
        with transaction.atomic():
            answer = self.client.post(address, fields)
            self._judge(said, address, answer)
            transaction.set_rollback(True)

    def get(self, said: str, address: str, fields: dict[str, str]) -> None:
        self.count += 1
        with transaction.atomic():
            self._judge(said, address, self.client.get(address, fields))
            transaction.set_rollback(True)

    def _judge(self, said: str, address: str, answer) -> None:
        if answer.status_code >= 500:
            error = answer.exc_info[1] if getattr(answer, "exc_info", None) else ""
            self.failed.append(f"{said}: {answer.status_code} {type(error).__name__}: {str(error)[:120]}")


def forms_on(client: Client, address: str) -> Iterator[tuple[str, Form]]:
    """Yield the address and the form of every form that posts to this page itself."""
    page = client.get(address)
    if page.status_code != 200 or "html" not in page.headers["Content-Type"]:
        return
    parser = Forms()
    parser.feed(page.content.decode())
    for form in parser.found:
        if form.method == "post" and form.action in {"", address, address.partition("?")[0]}:
            yield address, form


ALONE = ("NUL", "letters", "negative", "huge number", "past a database integer", "superscript")
FIELDS_IN_FULL = 24


@pytest.mark.parametrize("name", POSTED)
def test_no_form_answers_rubbish_with_a_failure(owner_client: Client, name: str) -> None:
    address = address_of(name)
    sweep = Sweep(owner_client)
    sweep.post(f"{name}: nothing at all", address, {})
    sweep.post(f"{name}: what no form has", address, {"nobody": "x", "a" * 300: "y", "pk": "-1"})
    forms = [form for _, form in forms_on(owner_client, address)]
    for form in forms:
        usual = {key: value for key, value in form.fields.items() if key != "csrfmiddlewaretoken"}
        for what, text in RUBBISH.items():
            text = text.encode("utf-8", "replace").decode()
            sweep.post(f"{name}: {what} in every field", address, dict.fromkeys(usual, text))
            managed = {
                key: value for key, value in usual.items() if re.search(r"_FORMS$|revision|began", key)
            }
            sweep.post(f"{name}: {what} in every free field", address, dict.fromkeys(usual, text) | managed)
        for place, field in enumerate(usual):
            # The fields of a long form are alike; past the first ones each gets one kind of rubbish in turn.
            is_far = place >= FIELDS_IN_FULL
            for what in (ALONE[place % len(ALONE)],) if is_far else ALONE:
                sweep.post(f"{name}: {what} in {field}", address, usual | {field: RUBBISH[what]})
            if is_far:
                continue
            rest = {key: value for key, value in usual.items() if key != field}
            sweep.post(f"{name}: without {field}", address, rest)
            sweep.post(f"{name}: {field} twice", address, usual | {field: [usual[field], "x"]})
            sweep.post(
                f"{name}: a file as {field}", address, rest | {field: SimpleUploadedFile("a.txt", b"x")}
            )
        for button, _value in form.buttons:
            sweep.post(f"{name}: button {button}", address, usual | {button: RUBBISH["markup"]})

    assert sweep.failed == []
    assert sweep.count >= 2


@pytest.mark.parametrize("name", POSTED)
def test_ten_megabytes_of_text_are_refused(owner_client: Client, name: str) -> None:
    address = address_of(name)
    sweep = Sweep(owner_client)
    fields = next((form.fields for _, form in forms_on(owner_client, address)), {"name": ""})
    first = next((key for key in fields if key != "csrfmiddlewaretoken"), "name")
    sweep.post(f"{name}: 10 MB in {first}", address, {**fields, first: "x" * 10_000_000})
    sweep.post(f"{name}: 5,000 fields", address, {f"field-{n}": "x" for n in range(5_000)})

    assert sweep.failed == []


@pytest.mark.parametrize("name", ["quotes:estimate-lines", "rooms:room-new", "rooms:room-edit"])
def test_rows_without_their_count_are_refused(owner_client: Client, name: str) -> None:
    address = address_of(name)
    sweep = Sweep(owner_client)
    usual = next(form.fields for _, form in forms_on(owner_client, address))
    counts = [field for field in usual if field.endswith("_FORMS")]
    for field in counts:
        for count in ("", "abc", "-1", "1001", "9" * 30, "1.5", "\u00b2", "\x00"):
            sweep.post(f"{name}: {count!r} as {field}", address, usual | {field: count})
    without = {key: value for key, value in usual.items() if key not in counts}
    sweep.post(f"{name}: no counts", address, without)

    assert len(counts) >= 4
    assert sweep.failed == []


@pytest.mark.parametrize("name", [name for name in NAMES if name not in TABLE or TABLE[name][0][0] == "get"])
def test_no_page_answers_a_strange_question_with_a_failure(owner_client: Client, name: str) -> None:
    """What stands after the question mark of an address is typed by anybody."""
    address = address_of(name)
    sweep = Sweep(owner_client)
    asked = ("q", "status", "stage", "page", "estimate", "role", "sort", "show", "key", "day", "keep", "from")
    for what, text in RUBBISH.items():
        text = text.encode("utf-8", "replace").decode()[:4000]
        sweep.get(f"{name}: {what} asked", address, dict.fromkeys(asked, text))

    assert sweep.failed == []


UPLOADS = {"pricelists:import": "file", "photos:add": "camera", "warranty:verify": "pdf"}


def test_every_upload_of_the_site_is_tried_here(owner_client: Client) -> None:
    """A new form with a file fails this test until it stands in ``UPLOADS``."""
    found = {}
    for name in POSTED:
        # Objects of one page must not stand in the way of those of the next.
        with transaction.atomic():
            for _, form in forms_on(owner_client, address_of(name)):
                if form.files:
                    found[name] = form.files[0]
            transaction.set_rollback(True)

    assert found == UPLOADS


@pytest.mark.parametrize("name", UPLOADS)
@pytest.mark.parametrize("what", FILES)
def test_no_upload_answers_a_wrong_file_with_a_failure(owner_client: Client, name: str, what: str) -> None:
    address = address_of(name)
    sweep = Sweep(owner_client)
    for filename in ("prices.csv", "prices.exe", "a" * 300 + ".csv", "../../prices.csv", "\u202e.csv", ""):
        file = io.BytesIO(FILES[what])
        file.name = filename  # as a browser would never send it
        sweep.post(f"{name}: {what} as {filename}", address, {UPLOADS[name]: file})
    sweep.post(f"{name}: text for a file", address, {UPLOADS[name]: "abc"})

    assert sweep.failed == []


def test_the_sweep_sees_a_failure(owner_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """The net has no hole: a view that fails is seen by it."""
    from contracting.customers import selectors

    def fails(text: str = "") -> None:
        raise RuntimeError("planted")

    monkeypatch.setattr(selectors, "customers_matching", fails)
    sweep = Sweep(owner_client)
    sweep.get("planted", reverse("customers:customers"), {})

    assert sweep.failed == ["planted: 500 RuntimeError: planted"]
