from django.apps import AppConfig


class CrewConfig(AppConfig):
    name = "jobs.crew"
    label = "crew"

    def ready(self) -> None:
        from contracting.staff import home
        from contracting.staff.policies import CREW, OFFICE
        from jobs.work import history

        from . import first_page

        history.when_told(first_page.told)
        home.register(home.Part(roles=OFFICE, order=15, section=first_page.to_look_at))
        home.register(home.Part(roles=CREW, order=5, section=first_page.phone_pages))
