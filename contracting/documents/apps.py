from django.apps import AppConfig


class DocumentsConfig(AppConfig):
    name = "contracting.documents"
    label = "documents"

    def ready(self) -> None:
        from . import checks  # noqa: F401
