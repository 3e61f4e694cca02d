"""The works app."""

from django.apps import AppConfig


class WorksConfig(AppConfig):
    """Orders and reports."""

    name = "assessments.works"
    label = "works"
