"""Prices as a CSV file: read whole before anything is stored, and written so that it can be read back.

Columns (first line, any order, others are ignored): ``material code``, ``starts on``, ``price``.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from .models import Material, Price

COLUMNS = ("material code", "starts on", "price")
MOST_BYTES = 1_000_000
MOST_ROWS = 5000
_PRICE = re.compile(r"[$€£]?\s*(\d+|\d{1,3}(,\d{3})+)(\.\d{1,2})?")
# A spreadsheet would run a cell that begins so as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class FileRefused(ValueError):
    """The file is not a price file at all; ``str(error)`` says why and what to send instead."""


@dataclass
class PriceRow:
    """One line of the file: what was read, what it means, and what is wrong with it."""

    line: int
    code: str
    day: str
    price: str
    material_pk: int = 0
    material_name: str = ""
    starts_on: datetime.date = datetime.date.min
    cents: int = 0
    replaces_cents: int | None = None
    error: str = ""


def decode(content: bytes) -> str:
    """Return the text of an uploaded file, or refuse what is no CSV text.

    Raises:
        FileRefused: too big, a spreadsheet or PDF by another name, or not UTF-8.
    """
    if len(content) > MOST_BYTES:
        raise FileRefused(_("The file is larger than 1 MB; a price file of 5,000 lines is far smaller."))
    if not content.strip():
        raise FileRefused(_("The file is empty."))
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise FileRefused(_("This is a spreadsheet, whatever its name says. Save it as CSV and send that."))
    if content.startswith(b"%PDF") or b"\x00" in content:
        raise FileRefused(_("This is not a text file, whatever its name says. A price file is CSV text."))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileRefused(
            _("The file is not UTF-8 text (byte %(at)d). Save it as “CSV UTF-8” and send that.")
            % {"at": error.start + 1}
        ) from error


def read_prices(text: str) -> list[PriceRow]:
    """Read every line; a line that cannot be used carries its error.

    Raises:
        FileRefused: the columns are not there, or there are too many lines.
    """
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise FileRefused(_("The file is not CSV: %(why)s.") % {"why": error}) from error
    header = [name.strip().lower() for name in lines[0]] if lines else []
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        raise FileRefused(
            _("The first line must name the columns %(wanted)s; missing: %(missing)s.")
            % {"wanted": ", ".join(COLUMNS), "missing": ", ".join(missing)}
        )
    if len(lines) - 1 > MOST_ROWS:
        raise FileRefused(_("The file has more than %(most)d lines.") % {"most": MOST_ROWS})
    places = [header.index(name) for name in COLUMNS]
    rows = []
    for number, cells in enumerate(lines[1:], 2):
        if not any(cell.strip() for cell in cells):
            continue
        code, day, price = (cells[at].strip() if at < len(cells) else "" for at in places)
        rows.append(PriceRow(number, code.removeprefix("'"), day, price))
    if not rows:
        raise FileRefused(_("The file has its column names and no prices."))
    return _checked(rows)


def _checked(rows: list[PriceRow]) -> list[PriceRow]:
    codes = {row.code for row in rows}
    materials: dict[str, Material] = {}
    for chunk in _chunks(sorted(codes), 500):
        materials.update({material.code: material for material in Material.objects.filter(code__in=chunk)})
    known = {
        (price.material_id, price.starts_on): price.cents
        for price in Price.objects.filter(material__in=[material.pk for material in materials.values()])
    }
    seen: dict[tuple[str, datetime.date], int] = {}
    for row in rows:
        _check(row, materials.get(row.code), seen)
        row.replaces_cents = known.get((row.material_pk, row.starts_on))
    return rows


def _check(row: PriceRow, material: Material | None, seen: dict[tuple[str, datetime.date], int]) -> None:
    if not row.code:
        row.error = _("The material code is missing.")
    elif material is None:
        row.error = _("No material has the code “%(code)s”.") % {"code": row.code}
    else:
        row.material_pk, row.material_name = material.pk, material.name
    try:
        row.starts_on = datetime.date.fromisoformat(row.day)
    except ValueError:
        row.error = row.error or _("Read “%(text)s”: expected a date such as 2027-01-15.") % {"text": row.day}
    if not _PRICE.fullmatch(row.price):
        row.error = row.error or _("Read “%(text)s”: expected a price such as 48.50.") % {"text": row.price}
    else:
        row.cents = int(Decimal(re.sub(r"[^\d.]", "", row.price)) * 100)
        if row.cents > 10_000_000_000:
            row.error = row.error or _("Read “%(text)s”: a pack cannot cost that much.") % {"text": row.price}
    if row.error:
        return
    before = seen.setdefault((row.code, row.starts_on), row.line)
    if before != row.line:
        row.error = _("Line %(line)d already has a price of this material from that day.") % {"line": before}


def _chunks(codes: list[str], size: int) -> Iterable[list[str]]:
    # SQLite takes a limited number of values in one query.
    return (codes[start : start + size] for start in range(0, len(codes), size))


def written_prices(materials: Iterable[Material]) -> str:
    """Return the price list as CSV text; :func:`read_prices` reads it back.

    Args:
        materials: rows of ``selectors.materials_matching`` (with today's price and its start).
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([*COLUMNS, "name", "role", "supplier", "pack"])
    for row in materials:
        if row.today_cents is None or row.today_from is None:
            continue
        price = f"{Decimal(row.today_cents).scaleb(-2):f}"
        words = (row.code, row.name, row.role, row.supplier.name, row.pack_label)
        code, name, role, supplier, pack = (_inert(word) for word in words)
        writer.writerow([code, row.today_from.isoformat(), price, name, role, supplier, pack])
    return out.getvalue()


def _inert(word: str) -> str:
    return f"'{word}" if word.startswith(_FORMULA) else word
