"""Smallest valid suppliers, materials and prices; every product is invented."""

import datetime
from typing import cast

from factory.declarations import LazyAttribute, LazyAttributeSequence, Sequence, SubFactory
from factory.django import DjangoModelFactory
from factory.helpers import post_generation

from estimates.pricelists.models import Material, MaterialFact, Price, Supplier

# role -> (pack label, content, unit, facts)
SHEETS: dict[str, tuple[str, str, str, dict[str, tuple[str, str]]]] = {
    "membrane": ("roll", "150", "sq ft", {"roll width": ("3", "ft"), "roll length": ("50", "ft")}),
    "inside corner piece": ("bag", "10", "each", {}),
    "outside corner piece": ("bag", "10", "each", {}),
    "bonding agent": (
        "pail",
        "3",
        "gal",
        {
            "coverage smooth": ("55", "sq ft/gal"),
            "coverage rough": ("40", "sq ft/gal"),
            "open time": ("15", "min"),
            "wait non-porous": ("15", "min"),
            "cure": ("2", "h"),
        },
    ),
    "sealant": ("cartridge", "10.1", "fl oz", {}),
    "movement joint sealant": ("cartridge", "10.1", "fl oz", {}),
    "tile": (
        "box",
        "8",
        "each",
        {
            "width": ("12", "in"),
            "height": ("24", "in"),
            "thickness": ("0.375", "in"),
            "joint": ("0.125", "in"),
        },
    ),
    "mortar": ("bag", "1", "each", {"coverage": ("60", "sq ft/each")}),
    "grout": ("bag", "25", "lb", {"density": ("1.9", "kg/L")}),
    "backer board": (
        "board",
        "1",
        "each",
        {"width": ("36", "in"), "height": ("60", "in"), "fasteners": ("2.5", "each/sq ft")},
    ),
    "fastener": ("box", "200", "each", {}),
    "levelling compound": ("bag", "1", "each", {"yield": ("0.5", "cu ft/each")}),
}


def millionths(text: str) -> int:
    return int(float(text) * 1_000_000 + 0.5)


class SupplierFactory(DjangoModelFactory[Supplier]):
    class Meta:
        model = Supplier

    name = Sequence(lambda n: f"Invented Supply {n}")


class MaterialFactory(DjangoModelFactory[Material]):
    """A material with the data sheet of its role; ``cents=None`` leaves it without a price."""

    class Meta:
        model = Material
        skip_postgeneration_save = True

    role = "tile"
    name = LazyAttributeSequence(lambda row, n: f"Invented {row.role} {n}")
    code = Sequence(lambda n: f"C{n:05}")
    supplier = SubFactory(SupplierFactory)
    pack_label = LazyAttribute(lambda row: SHEETS[row.role][0])
    pack_millionths = LazyAttribute(lambda row: millionths(SHEETS[row.role][1]))
    pack_unit = LazyAttribute(lambda row: SHEETS[row.role][2])

    @post_generation
    def facts(self, create, extracted, **kwargs):
        row = cast(Material, self)
        MaterialFact.objects.bulk_create(
            MaterialFact(material=row, name=name, value_millionths=millionths(value), unit=unit)
            for name, (value, unit) in SHEETS[row.role][3].items()
        )

    @post_generation
    def cents(self, create, extracted, **kwargs):
        row = cast(Material, self)
        if extracted is not None:
            Price.objects.create(material=row, starts_on=datetime.date(2026, 1, 1), cents=extracted)


def usual_price_list(**prices: int | None) -> dict[str, Material]:
    """Make a usual material of every role with a price of 50.00 a pack (or as named, ``None``: no price)."""
    made = {}
    for role in SHEETS:
        cents = prices.get(role.replace(" ", "_"), 5000)
        made[role] = MaterialFactory.create(role=role, name=f"Usual {role}", is_usual=True, cents=cents)
    return made
