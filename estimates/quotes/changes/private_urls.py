"""Addresses under /q/c/: what a customer opens without an account."""

from django.urls import path

from . import views

app_name = "change-signing"
urlpatterns = [
    path("<str:token>/", views.order, name="order"),
    path("<str:token>/sign/", views.sign, name="sign"),
    path("<str:token>/decline/", views.decline, name="decline"),
    path("<str:token>/change.pdf", views.order_paper, name="order-paper"),
    path("<str:token>/signed.pdf", views.signed_paper, name="signed-paper"),
]
