from django.apps import AppConfig


class CrewConfig(AppConfig):
    name = "jobs.crew"
    label = "crew"

    def ready(self) -> None:
        from contracting.staff import home
        from contracting.staff.policies import CREW, OFFICE

        from . import first_page

        home.register(home.Part(roles=OFFICE, order=15, section=first_page.to_look_at))
        home.register(home.Part(roles=CREW, order=5, section=first_page.phone_pages))
