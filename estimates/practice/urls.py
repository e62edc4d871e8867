"""Addresses under /practice/."""

from django.urls import path

from . import views

app_name = "practice"
urlpatterns = [
    path("", views.settings, name="settings"),
    path("rates/", views.rates, name="rates"),
    path("difficulty/", views.factors, name="factors"),
    path("calendar/", views.calendar, name="calendar"),
    path("changes/", views.changes, name="changes"),
]
