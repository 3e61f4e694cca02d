"""The demo app: it only brings commands."""

from django.apps import AppConfig


class DemoConfig(AppConfig):
    """The invented demo city."""

    name = "deploy.demo"
    label = "demo"
