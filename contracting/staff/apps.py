from django.apps import AppConfig


class StaffConfig(AppConfig):
    name = "contracting.staff"
    label = "staff"
