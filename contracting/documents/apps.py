from django.apps import AppConfig


class DocumentsConfig(AppConfig):
    name = "contracting.documents"
    label = "documents"
