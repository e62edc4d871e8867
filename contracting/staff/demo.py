"""The invented company of the demo, its people, and what an hour costs there. All of it is made up."""

import datetime

from django.db import transaction

from . import services
from .models import CompanyProfile, LabourCost, Role, User

PASSWORD = "demo"  # noqa: S105 - public, and only ever stored in a demonstration

# Sign-in name, first and last name, role, language.
PEOPLE = (
    ("owner", "Marta", "Quill", Role.OWNER, "en"),
    ("office", "Priya", "Venn", Role.OFFICE, "en"),
    ("sam", "Sam", "Thorne", Role.INSTALLER, "en"),
    ("luis", "Luis", "Arroyo", Role.INSTALLER, "es"),
)


@transaction.atomic
def load_company() -> dict[str, User]:
    """Store the demo company where there is none, and return its people by sign-in name.

    Calling it again changes nothing that somebody has changed since.
    """
    if not CompanyProfile.objects.exists():
        services.company_save(
            company=CompanyProfile(
                name="Quill & Venn Tile",
                tagline="Baths, showers, counters and floors (an invented company)",
                address="12 Kiln Street\nMarlow Falls, TX 75999",
                phone="555 0142",
                email="office@quill-and-venn.example",
                licence="Licence TL-0000 (invented)",
                overhead_basis_points=1200,
                margin_basis_points=3000,
                minimum_charge_cents=65000,
                deposit_basis_points=3000,
                inclusions="All materials named in this quote, delivery to the site, cleaning up each day.",
                exclusions="Plumbing and electrical work; repair of hidden damage found on opening.",
                terms="The deposit is due at signing, the balance within 10 days of completion.",
            )
        )
    if not LabourCost.objects.exists():
        services.labour_cost_save(
            starts_on=datetime.date(2025, 1, 1), pay_cents=3100, burden_basis_points=2850
        )
        services.labour_cost_save(
            starts_on=datetime.date(2026, 7, 1), pay_cents=3300, burden_basis_points=2850
        )
    for username, first_name, last_name, role, language in PEOPLE:
        if not User.objects.filter(username=username).exists():
            person = User(
                username=username, first_name=first_name, last_name=last_name, role=role, language=language
            )
            services.person_save(person=person, password=PASSWORD)
    return {user.username: user for user in User.objects.filter(username__in=[row[0] for row in PEOPLE])}


def is_somebody_elses_database() -> bool:
    """Return whether people work in this database who are not of the demo."""
    people = User.objects.values_list("username", flat=True)
    return bool(people) and not {row[0] for row in PEOPLE} & set(people)
