"""Addresses under /q/: what a customer opens without an account."""

from django.urls import path

from . import views

app_name = "signing"
urlpatterns = [
    path("<str:token>/", views.quote, name="quote"),
    path("<str:token>/sign/", views.sign, name="sign"),
    path("<str:token>/decline/", views.decline, name="decline"),
    path("<str:token>/quote.pdf", views.quote_paper, name="quote-paper"),
    path("<str:token>/signed.pdf", views.signed_paper, name="signed-paper"),
]
