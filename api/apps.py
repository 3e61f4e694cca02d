"""The API app: it owns the table of idempotency keys."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """Every way in."""

    name = "api"
    label = "api"
