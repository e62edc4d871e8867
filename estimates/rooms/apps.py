from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "estimates.rooms"
    label = "rooms"

    def ready(self) -> None:
        from . import measuring_sheet

        measuring_sheet.register()
