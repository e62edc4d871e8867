"""Addresses under /q/: what a customer opens without an account."""

from django.urls import URLPattern, path

from . import views
from .quotes import QUOTE
from .signable import Signable


def customer_addresses(signable: Signable) -> list[URLPattern]:
    """Return the customer's addresses of one kind of paper."""
    given = {"signable": signable}
    return [
        path("<str:token>/", views.paper, given, name=signable.name),
        path("<str:token>/sign/", views.sign, given, name="sign"),
        path("<str:token>/decline/", views.decline, given, name="decline"),
        path(f"<str:token>/{signable.file}", views.paper_pdf, given, name=f"{signable.name}-paper"),
        path("<str:token>/signed.pdf", views.signed_pdf, given, name="signed-paper"),
    ]


app_name = "signing"
urlpatterns = customer_addresses(QUOTE)
