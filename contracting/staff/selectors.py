"""What screens read about the company and its people."""

import datetime

from .models import CompanyProfile, LabourCost


def company_profile() -> CompanyProfile:
    """Return the company; a fresh installation has an unnamed one with the defaults (not yet stored)."""
    return CompanyProfile.objects.filter(pk=1).first() or CompanyProfile(pk=1, name="")


def labour_cost_on(day: datetime.date) -> LabourCost | None:
    """Return the cost of an hour on *day*: the newest row that has started, or None."""
    return LabourCost.objects.filter(starts_on__lte=day).order_by("-starts_on").first()
