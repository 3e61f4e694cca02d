"""The assessments app."""

from django.apps import AppConfig


class AssessmentsConfig(AppConfig):
    """What we found and conclude."""

    name = "assessments"
    label = "assessments"
