from django.urls import path

from . import views

app_name = "rooms"
urlpatterns = [
    path("site/<int:pk>/", views.rooms, name="rooms"),
    path("site/<int:pk>/new/", views.room_new, name="room-new"),
    path("site/<int:pk>/plan/", views.plan, name="plan"),
    path("site/<int:pk>/measuring-sheet/", views.measuring_sheet, name="measuring-sheet"),
    path("<int:pk>/", views.room, name="room"),
    path("<int:pk>/edit/", views.room_edit, name="room-edit"),
    path("<int:pk>/counts/", views.room_counts, name="room-counts"),
    path("<int:pk>/copy/", views.room_copy, name="room-copy"),
    path("<int:pk>/remove/", views.room_remove, name="room-remove"),
]
