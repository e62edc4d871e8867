"""Addresses under /jobs/<job>/inspections/."""

from django.urls import path

from . import views

app_name = "inspections"
urlpatterns = [
    path("<int:job_pk>/inspections/", views.plan, name="plan"),
    path("<int:job_pk>/inspections/make/", views.plan_make, name="plan-make"),
    path("<int:job_pk>/inspections/paper/", views.paper, name="paper"),
    path("<int:job_pk>/inspections/override/<slug:step>/", views.override, name="override"),
    path("<int:job_pk>/inspections/non-conformances/", views.non_conformances, name="non-conformances"),
    path(
        "<int:job_pk>/inspections/non-conformances/<int:pk>/", views.non_conformance, name="non-conformance"
    ),
    path("<int:job_pk>/inspections/<int:pk>/", views.check, name="check"),
    path("<int:job_pk>/inspections/<int:pk>/flood/", views.flood_start, name="flood-start"),
    path("<int:job_pk>/inspections/<int:pk>/flood/<int:start_pk>/end/", views.flood_end, name="flood-end"),
    path("<int:job_pk>/inspections/<int:pk>/correct/<int:record_pk>/", views.correct, name="correct"),
]
