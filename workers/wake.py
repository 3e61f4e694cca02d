"""Wakes the workers; a broker that is down only delays, because the schedule looks again."""

import structlog
from kombu.exceptions import OperationalError

from workers.celery import app

log = structlog.get_logger(__name__)


def send(task: str, *args: object) -> None:
    """Send a task by name; never raises where the broker cannot be reached."""
    try:
        app.send_task(task, args=args, retry=False)
    except (OperationalError, OSError) as error:
        log.warning("broker out of reach", task=task, error=str(error))


def wake() -> None:
    """Ask for the news to be drained now."""
    send("workers.tasks.drain")
