"""Addresses of the calendar; a feed is read under /feed/<token>/ by whoever has its private link."""

from django.urls import path

from . import feed_views, views

app_name = "schedule"
urlpatterns = [
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/jobs/<int:pk>/", views.job, name="job"),
    path("calendar/jobs/<int:pk>/make/", views.make, name="make"),
    path("calendar/jobs/<int:pk>/add/", views.add, name="add"),
    path("calendar/jobs/<int:pk>/undo/", views.undo, name="undo"),
    path("calendar/visits/<int:pk>/", views.visit, name="visit"),
    path("calendar/visits/<int:pk>/look/", views.look, name="look"),
    path("calendar/visits/<int:pk>/drop/", views.drop, name="drop"),
    path("calendar/days-off/", views.days_off, name="days-off"),
    path("calendar/days-off/<int:pk>/remove/", views.day_off_remove, name="day-off-remove"),
    path("calendar/feeds/", feed_views.feeds, name="feeds"),
    path("calendar/feeds/<int:pk>/make/", feed_views.feed_make, name="feed-make"),
    path("calendar/feeds/<int:pk>/revoke/", feed_views.feed_revoke, name="feed-revoke"),
    path("feed/<str:token>/visits.ics", feed_views.feed, name="feed"),
]
