from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "estimates.rooms"
    label = "rooms"

    def ready(self) -> None:
        from . import measuring_sheet, site_page

        measuring_sheet.register()
        site_page.register()
