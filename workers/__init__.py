"""What runs later: the Celery app, thin tasks, the schedule, jobs."""

from workers.celery import app as celery_app

__all__ = ["celery_app"]
