from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "estimates.rooms"
    label = "rooms"
