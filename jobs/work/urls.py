"""Addresses under /jobs/."""

from django.urls import include, path

from . import offcuts, views

app_name = "work"
urlpatterns = [
    path("", views.jobs, name="jobs"),
    path("<int:pk>/", views.job, name="job"),
    path("<int:pk>/plan/", views.plan, name="plan"),
    path("<int:pk>/move/", views.move, name="move"),
    path("<int:pk>/offcuts/", offcuts.offcuts, name="offcuts"),
    path("<int:pk>/crew-sheet/", views.crew_sheet, name="crew-sheet"),
    path("<int:pk>/purchase-list/", views.purchase_list, name="purchase-list"),
    path("", include("jobs.work.daily.urls")),
    path("", include("jobs.work.supply.urls")),
    path("sign/<int:pk>/", views.sign, name="sign"),
]
