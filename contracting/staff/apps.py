from django.apps import AppConfig


class StaffConfig(AppConfig):
    name = "contracting.staff"
    label = "staff"

    def ready(self) -> None:
        from . import checks  # noqa: F401
