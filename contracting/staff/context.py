"""What every template knows: the company."""

from django.http import HttpRequest

from .selectors import company_profile


def company(request: HttpRequest) -> dict[str, object]:
    return {"company": company_profile}
