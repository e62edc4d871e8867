"""Addresses under /crew/: the scope of the installable app and of its service worker."""

from django.urls import path

from . import views
from .pages import PARTS

app_name = "crew"
urlpatterns = [
    path("", views.today, name="today"),
    path("jobs/<int:pk>/", views.part, {"name": "job"}, name="job"),
    *(path(f"jobs/<int:pk>/{name}/", views.part, {"name": name}, name=name) for name in PARTS),
    path("jobs/<int:pk>/act/", views.act, name="act"),
    path("waiting/", views.waiting, name="waiting"),
    path("offline/", views.offline, name="offline"),
    path("acts/", views.acts, name="acts"),
    path("pulse/", views.pulse, name="pulse"),
    path("worker.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("look-at/", views.look_at, name="look-at"),
    path("look-at/<int:pk>/seen/", views.look_at_seen, name="look-at-seen"),
]
