"""Addresses under /jobs/<pk>/log/, in the namespace of jobs."""

from django.urls import path

from . import views

urlpatterns = [
    path("<int:pk>/log/", views.log, name="log"),
    path("<int:pk>/log/hours/new/", views.hours_new, name="log-hours"),
    path("<int:pk>/log/hours/repeat/", views.hours_repeat, name="log-hours-repeat"),
    path("<int:pk>/log/hours/<int:entry>/", views.hours_correct, name="log-hours-correct"),
    path("<int:pk>/log/deliveries/new/", views.delivery_new, name="log-delivery"),
    path("<int:pk>/log/deliveries/<int:entry>/", views.delivery_correct, name="log-delivery-correct"),
    path("<int:pk>/log/costs/new/", views.cost_new, name="log-cost"),
    path("<int:pk>/log/costs/<int:entry>/", views.cost_correct, name="log-cost-correct"),
    path("<int:pk>/log/progress/new/", views.progress_new, name="log-progress"),
    path("<int:pk>/log/notes/new/", views.note_new, name="log-note"),
    path("<int:pk>/log/notes/<int:entry>/", views.note_correct, name="log-note-correct"),
]
