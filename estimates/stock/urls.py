"""Addresses under /offcuts/."""

from django.urls import path

from . import views

app_name = "stock"
urlpatterns = [
    path("", views.offcuts, name="offcuts"),
    path("new/", views.offcut_new, name="offcut-new"),
    path("<int:pk>/", views.offcut_edit, name="offcut-edit"),
    path("<int:pk>/take/", views.offcut_take, name="offcut-take"),
]
