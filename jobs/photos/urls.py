"""Addresses of photos: a job's, one photo's, and what phones call."""

from django.urls import path

from . import upload_views, views

app_name = "photos"
urlpatterns = [
    path("jobs/<int:job_pk>/photos/", views.gallery, name="gallery"),
    path("jobs/<int:job_pk>/photos/add/", views.add, name="add"),
    path("photos/<int:pk>/", views.photo, name="photo"),
    path("photos/<int:pk>/file.jpg", views.file, name="file"),
    path("photos/<int:pk>/small.jpg", views.small, name="small"),
    path("photos/<int:pk>/describe/", views.describe, name="describe"),
    path("photos/<int:pk>/withdraw/", views.withdraw, name="withdraw"),
    path("photos/uploads/", upload_views.start, name="uploads"),
    path("photos/uploads/<uuid:key>/", upload_views.upload, name="upload"),
]
