"""Addresses under /invoices/: the office's."""

from django.urls import path

from . import views

app_name = "billing"
urlpatterns = [
    path("", views.invoices, name="invoices"),
    path("jobs/<int:pk>/", views.job, name="job"),
    path("jobs/<int:pk>/new/", views.new, name="new"),
    path("jobs/<int:pk>/terms/", views.terms, name="terms"),
    path("jobs/<int:pk>/release/", views.release, name="release"),
    path("<int:pk>/", views.invoice, name="invoice"),
    path("<int:pk>/credit/", views.credit, name="credit"),
    path("<int:pk>/pay/", views.pay, name="pay"),
    path("<int:pk>/payments/<int:payment>/", views.correct, name="correct"),
    path("<int:pk>/paper/", views.paper_again, name="paper-again"),
]
