"""What screens read about the company and its people."""

import datetime

from .models import CompanyProfile, LabourCost, PayRate, Role, User


def company_profile() -> CompanyProfile:
    """Return the company; a fresh installation has an unnamed one with the defaults (not yet stored)."""
    return CompanyProfile.objects.filter(pk=1).first() or CompanyProfile(pk=1, name="")


def labour_cost_on(day: datetime.date) -> LabourCost | None:
    """Return the cost of an hour on *day*: the newest row that has started, or None."""
    return LabourCost.objects.filter(starts_on__lte=day).order_by("-starts_on").first()


def labour_costs() -> list[LabourCost]:
    """Return every cost of an hour, the newest first."""
    return list(LabourCost.objects.order_by("-starts_on"))


def pay_rates_of(person: User) -> list[PayRate]:
    """Return every pay rate of *person*, the newest first."""
    return list(PayRate.objects.filter(person=person).order_by("-starts_on"))


def people() -> list[User]:
    """Return everybody with an account: those who can sign in first, by role and name."""
    rank = {Role.OWNER: 0, Role.OFFICE: 1, Role.INSTALLER: 2}
    return sorted(
        User.objects.all(), key=lambda user: (not user.is_active, rank[Role(user.role)], str(user).lower())
    )


def installers() -> list[User]:
    """Return the installers who can sign in, by name."""
    return sorted(
        User.objects.filter(role=Role.INSTALLER, is_active=True), key=lambda user: str(user).lower()
    )
