from django.apps import AppConfig


class StaffConfig(AppConfig):
    name = "contracting.staff"
    label = "staff"

    def ready(self) -> None:
        from . import checks, first_steps, letterhead  # noqa: F401

        letterhead.register()
        first_steps.register_own()
