"""Addresses of warranty records; the shortest one is printed on paper and typed by strangers."""

from django.urls import path

from . import public_views, views

app_name = "warranty"
urlpatterns = [
    path("verify/", public_views.verify, name="verify"),
    path("warranty/", views.records, name="records"),
    path("warranty/terms/", views.terms, name="terms"),
    path("warranty/<int:pk>/replace/", views.replace, name="replace"),
    path("jobs/<int:job_pk>/warranty/", views.job, name="job"),
    path("jobs/<int:job_pk>/warranty/photos/", views.photos, name="photos"),
    path("jobs/<int:job_pk>/warranty/issue/", views.issue, name="issue"),
]
