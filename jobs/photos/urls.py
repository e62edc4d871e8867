"""Addresses of photos: a job's, one photo's, and what phones call."""

from django.urls import path

from . import upload_views

app_name = "photos"
urlpatterns = [
    path("photos/uploads/", upload_views.start, name="uploads"),
    path("photos/uploads/<uuid:key>/", upload_views.upload, name="upload"),
]
