"""The deploy app: it only brings the commands that set a city up."""

from django.apps import AppConfig


class DeployConfig(AppConfig):
    """How it runs."""

    name = "deploy"
    label = "deploy"
