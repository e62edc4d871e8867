"""Addresses under /margins/: the owner's."""

from django.urls import path

from . import views

app_name = "margins"
urlpatterns = [
    path("", views.margins, name="margins"),
    path("margins.csv", views.export, name="export"),
    path("<int:pk>/", views.job, name="job"),
    path("<int:pk>/entries/", views.entries, name="entries"),
]
