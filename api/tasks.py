"""The API's own upkeep, run by the workers."""

from celery import shared_task

from api.http import idempotency


@shared_task
def purge_idempotency_keys() -> None:
    """Forget the answers that are past their 90 days."""
    idempotency.purge()
