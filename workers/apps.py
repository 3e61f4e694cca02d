"""The workers app."""

from django.apps import AppConfig


class WorkersConfig(AppConfig):
    """Jobs."""

    name = "workers"
    label = "workers"
