from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    name = "jobs.inspections"
    label = "inspections"
