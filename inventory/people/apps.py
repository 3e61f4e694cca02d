"""The lowest app: who uses the service, in which role."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """People, organisations and their roles."""

    name = "inventory.people"
    label = "people"
