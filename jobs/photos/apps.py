from django.apps import AppConfig


class PhotosConfig(AppConfig):
    name = "jobs.photos"
    label = "photos"

    def ready(self) -> None:
        from jobs.work import pictures

        from . import selectors

        pictures.register(selectors)
