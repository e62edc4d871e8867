"""The invented price list of the demo company."""

import datetime
import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from estimates.takeoff.materials import FACTS, PACK_UNITS
from estimates.takeoff.model import Role

from . import services
from .measures import read_measure, to_millionths
from .models import Material, Supplier

PRICE_LIST = Path(settings.BASE_DIR) / "fixtures" / "demo" / "price_list.json"


@transaction.atomic
def load_price_list() -> None:
    """Store the demo's suppliers, materials and prices that are not there yet; change none that are."""
    listed = json.loads(PRICE_LIST.read_text(encoding="utf-8"))
    for row in listed["suppliers"]:
        Supplier.objects.get_or_create(name=row["name"], defaults=row)
    suppliers = {supplier.name: supplier for supplier in Supplier.objects.all()}
    there = set(Material.objects.values_list("code", flat=True))
    for row in listed["materials"]:
        if row["code"] not in there:
            _material(row, suppliers[row["supplier"]])


def _material(row: dict[str, Any], supplier: Supplier) -> None:
    role = Role(row["role"])
    content = read_measure(row["content"], PACK_UNITS[role])
    material = services.material_save(
        material=Material(
            role=role.value,
            use=row["use"],
            name=row["name"],
            code=row["code"],
            supplier=supplier,
            pack_label=row["pack"],
            pack_millionths=to_millionths(content),
            pack_unit=content.unit,
            waste_basis_points=row["waste_basis_points"],
            is_usual=row["usual"],
        ),
        facts={name: read_measure(text, FACTS[role][name].unit) for name, text in row["facts"].items()},
    )
    for day, cents in row["prices"].items():
        services.price_set(material=material, starts_on=datetime.date.fromisoformat(day), cents=cents)
