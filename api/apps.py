"""The API app: it owns the table of idempotency keys."""

from celery.schedules import crontab
from django.apps import AppConfig


class ApiConfig(AppConfig):
    """Every way in."""

    name = "api"
    label = "api"

    def ready(self) -> None:
        """Add the API's upkeep to the schedule: the workers do not know who is to their left."""
        from workers.celery import app

        app.conf.beat_schedule["forget old answers"] = {
            "task": "api.tasks.purge_idempotency_keys",
            "schedule": crontab(hour="3", minute="15"),
        }
