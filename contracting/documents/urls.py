from django.urls import path

from . import views

app_name = "documents"
urlpatterns = [
    path("<int:pk>/", views.document, name="document"),
    path("<int:pk>/file.pdf", views.download, name="download"),
    path("<int:pk>/retry/", views.retry, name="retry"),
]
