"""Every sentence in Spanish: the catalogue is whole, what is compiled is what is written, pages show it."""

from __future__ import annotations

import gettext
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po
from django.conf import settings
from django.test import Client
from django.urls import reverse

from contracting.staff.models import User
from tests.estimates.quotes.factories import AT, ready

ROOT = Path(settings.BASE_DIR)
FOLDER = Path("contracting/locale/es/LC_MESSAGES")
PLACEHOLDER = re.compile(r"%\(\w+\)(?:\.\d+)?[sdf]|\{\w*\}|%%|</?\w+>")


def read(path: Path) -> Catalog:
    with path.open("rb") as file:
        return read_po(file, locale="es")


def messages(catalog: Catalog) -> list[Message]:
    return [message for message in catalog if message.id]


def forms(text: Any) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return read(ROOT / FOLDER / "django.po")


def test_every_sentence_is_translated_and_none_is_a_guess(catalog: Catalog) -> None:
    missing = [message.id for message in messages(catalog) if not all(forms(message.string or ""))]
    guessed = [message.id for message in messages(catalog) if message.fuzzy]

    assert len(messages(catalog)) > 2000
    assert (missing, guessed) == ([], [])


def test_a_translation_takes_the_same_values_as_its_sentence(catalog: Catalog) -> None:
    wrong = []
    for message in messages(catalog):
        # Of a plural each form is held against the plural: a singular may leave the number out.
        wanted = sorted(PLACEHOLDER.findall(forms(message.id)[-1]))
        singular = sorted(PLACEHOLDER.findall(forms(message.id)[0]))
        for form in forms(message.string):
            if sorted(PLACEHOLDER.findall(form)) not in (wanted, singular):
                wrong.append((message.id, form))

    assert wrong == []


def test_edges_of_sentences_are_kept(catalog: Catalog) -> None:
    """Pieces that are put together keep the space at their start, and a sentence its full stop or colon."""

    def edges(text: str) -> tuple[str, str]:
        return text[: len(text) - len(text.lstrip())], "".join(re.findall(r"[.:…]?\s*$", text))

    wrong = [
        (message.id, message.string)
        for message in messages(catalog)
        if edges(forms(message.id)[0])[0] != edges(forms(message.string)[0])[0]
        or (edges(forms(message.id)[0])[1] == ".") != (edges(forms(message.string)[0])[1] == ".")
    ]

    # The full stop would stand behind a sign that ends the sentence in Spanish.
    assert [pair for pair in wrong if not pair[0].endswith("@ only.")] == []


def test_what_is_compiled_is_what_is_written(catalog: Catalog) -> None:
    with (ROOT / FOLDER / "django.mo").open("rb") as file:
        compiled = gettext.GNUTranslations(file)
    held = {key: value for key, value in compiled._catalog.items() if key}  # type: ignore[attr-defined]
    written: dict[Any, str] = {}
    for message in messages(catalog):
        prefix = f"{message.context}\x04" if message.context else ""
        if isinstance(message.id, str):
            written[prefix + message.id] = message.string
        else:
            for number, form in enumerate(message.string):
                written[prefix + message.id[0], number] = form

    assert held == written, "Run manage.py words, and commit both files."


@pytest.mark.skipif(shutil.which("xgettext") is None, reason="xgettext is not installed (Debian: gettext).")
def test_every_sentence_in_the_code_is_in_the_catalogue(catalog: Catalog, tmp_path: Path) -> None:
    left_out = shutil.ignore_patterns("__pycache__", "fonts", "*.pyc")
    for name in ("contracting", "estimates", "jobs", "templates"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=left_out)
    shutil.copy(ROOT / "manage.py", tmp_path)

    # It ends with 1 where a sentence is not translated; what counts here is what it gathered.
    subprocess.run(
        [sys.executable, "manage.py", "words"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    gathered = {(one.context, forms(one.id)) for one in messages(read(tmp_path / FOLDER / "django.po"))}

    known = {(one.context, forms(one.id)) for one in messages(catalog)}
    assert len(gathered) > 2000
    assert gathered - known == set(), "Run manage.py words and translate what it lists."


class _Texts(HTMLParser):
    """Gather what a reader sees or hears of a page: text, and the attributes that are read out."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in ("script", "style")
        for name, value in attrs:
            if name in ("title", "alt", "placeholder", "aria-label") and value:
                self._keep(value)

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self._keep(data)

    def _keep(self, text: str) -> None:
        if words := " ".join(text.split()):
            self.found.add(words)


def texts(client: Client, user: User, language: str, address: str) -> set[str]:
    User.objects.filter(pk=user.pk).update(language=language)
    answer = client.get(address)
    assert answer.status_code == 200, (address, answer.status_code)
    reader = _Texts()
    reader.feed(answer.content.decode())
    return reader.found


# What the factories typed in: names, addresses and packs stay as they were typed in every language.
TYPED = re.compile(
    r"Bath floors|Bath 1|\bFloor\b|Ada Lowell|Ivo|Quarry Lane Tile|Exampleton|Kiln Road|Main house"
    r"|Rental|English|(?-i:[A-Z]-\d+)",
)
# Words that both languages write alike, names of standards, keys to type, and units.
ALIKE = {
    *("ledgerboard", "material", "total", "error", "normal", "visible", "final", "code", "max", "min"),
    "sin",  # the sine in a formula, as calculators write it
    *("gal", "ansi", "astm", "irc", "upc", "nfpa", "cfr", "osb", "csv", "pdf", "usd"),
    *("jan", "feb", "mar", "jun", "jul", "sep", "oct", "nov"),
}


def unchanged_words(english: set[str], spanish: set[str], data: set[str]) -> set[str]:
    """Return the texts with words of three letters or more that read alike on both pages."""
    alike = set()
    for text in english & spanish:
        rest = text
        for typed in sorted(data, key=len, reverse=True):
            rest = rest.replace(typed, "")
        words = re.findall(r"[A-Za-zÀ-ÿ]{3,}", TYPED.sub("", rest))
        if any(word.lower() not in ALIKE for word in words):
            alike.add(text)
    return alike


@pytest.fixture
def data() -> set[str]:
    """Names that stand in the database as somebody typed them."""
    from contracting.customers.models import Customer, Site
    from estimates.pricelists.models import Material, Supplier
    from estimates.rooms.models import Room, Surface

    def names() -> set[str]:
        found: set[str] = set()
        for model, fields in (
            (Customer, ("name", "phone", "email")),
            (Site, ("name", "street", "city", "region", "time_zone")),
            (Material, ("name", "code")),
            (Supplier, ("name",)),
            (Room, ("name",)),
            (Surface, ("name",)),
            (User, ("first_name", "last_name", "username")),
        ):
            for row in model.objects.values_list(*fields):  # type: ignore[attr-defined]
                found |= {value for value in row if value}
        return found

    return names  # type: ignore[return-value]


def english_left(english: set[str], spanish: set[str], catalog: Catalog, data: set[str]) -> set[str]:
    """Return what shows in English on a Spanish page: sentences of the catalogue, and texts never marked."""
    translated = {
        message.id
        for message in messages(catalog)
        if isinstance(message.id, str) and message.id != message.string and len(message.id) > 2
    }
    theirs = {message.string for message in messages(catalog) if isinstance(message.string, str)}
    return (spanish & translated) - theirs - data | unchanged_words(english, spanish, data)


def test_an_installers_pages_are_spanish_to_the_last_word(
    installer: User, office_manager: User, catalog: Catalog, data: Any
) -> None:
    from estimates.rooms.models import Room
    from jobs.crew.phone import PAGES
    from jobs.inspections.models import PlannedCheck
    from jobs.work.services import job_from_quote, job_plan
    from tests.jobs.schedule.factories import MONDAY
    from tests.jobs.work.factories import signed_quote

    job = job_from_quote(quote=signed_quote(by=office_manager), by=office_manager)
    job_plan(job=job, starts_on=MONDAY, crew=[installer], crew_notes="", by=office_manager)
    client = Client()
    client.force_login(office_manager)
    client.post(reverse("inspections:plan-make", args=[job.pk]))
    client.force_login(installer)
    checks = PlannedCheck.objects.filter(plan__job=job)
    assert checks
    addresses = [
        "/",
        reverse("work:jobs"),
        reverse("work:job", args=[job.pk]),
        reverse("work:log", args=[job.pk]),
        *(reverse(f"work:log-{kind}", args=[job.pk]) for kind in ("hours", "delivery", "progress", "note")),
        reverse("inspections:plan", args=[job.pk]),
        reverse("inspections:non-conformances", args=[job.pk]),
        *(
            f"{reverse('work:log-note', args=[job.pk])}?kind={kind}"
            for kind in ("delay", "weather", "visitor")
        ),
        reverse("work:purchases", args=[job.pk]),
        *(reverse(f"punchlist:{name}", args=[job.pk]) for name in ("list", "item-new", "callbacks-of-job")),
        *(reverse(f"punchlist:{name}") for name in ("every-list", "callbacks")),
        *(reverse("inspections:check", args=[job.pk, check.pk]) for check in checks),
        reverse("rooms:room", args=[Room.objects.get().pk]),
        reverse("staff:preferences"),
        reverse("schedule:job", args=[job.pk]),
        *(f"{reverse('schedule:calendar')}?from={MONDAY}&by={by}" for by in ("people", "jobs")),
        reverse("schedule:feeds"),
        *(reverse(f"crew:{name}") for name in ("today", "waiting", "offline")),
        *(reverse(f"crew:{name}", args=[job.pk]) for name in PAGES),
    ]

    left = {}
    for address in addresses:
        pages = [texts(client, installer, language, address) for language in ("en", "es")]
        if english := english_left(*pages, catalog, data()):
            left[address] = english

    assert left == {}


def test_an_estimate_and_its_workings_are_spanish_too(
    office_manager: User, catalog: Catalog, data: Any
) -> None:
    from estimates.quotes.services import quote_issue

    estimate = ready(by=office_manager)
    client = Client()
    client.force_login(office_manager)
    addresses = [reverse("quotes:estimate", args=[estimate.pk]), reverse("pricelists:materials")]
    left = {}
    for address in addresses:
        pages = [texts(client, office_manager, language, address) for language in ("en", "es")]
        if english := english_left(*pages, catalog, data()):
            left[address] = english

    assert left == {}
    # The office may read Spanish; what is frozen for the crew stands in both languages all the same.
    work = quote_issue(estimate=estimate, by=office_manager, at=AT).snapshot["work"]
    (english,) = work["plans"].values()
    (spanish,) = work["translated"]["es"]["plans"].values()
    assert "Plan of Bath 1" in english["membrane"]
    assert "Plano de Bath 1" in spanish["membrane"]


def test_the_check_finds_what_was_forgotten(catalog: Catalog) -> None:
    english = {"Save", "Never marked for translation", "Bath 1", "42 in", "Hours"}
    spanish = {"Guardar", "Never marked for translation", "Bath 1", "42 in", "Hours"}

    assert english_left(english, spanish, catalog, {"Bath 1"}) == {"Never marked for translation", "Hours"}
