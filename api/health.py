"""Is the process alive, and can it serve: for load balancers, deploy/up and the person on duty. No secrets."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

import structlog
from django.conf import settings
from django.core.cache import cache
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Min
from django.http import HttpRequest, JsonResponse
from django.urls import path
from django.utils import timezone

from inventory.models import Event, Municipality
from workers.models import Job

LATE_S: Final = 300
"""An event unstamped or a job unstarted for longer than this means that the workers are away."""
RETRY_S: Final = 5
logger = structlog.get_logger(__name__)


class Unready(Exception):
    """One check failed; the message may be shown to anyone."""


def live(request: HttpRequest) -> JsonResponse:
    """The process answers."""
    return _answer({"status": "live"}, 200)


def ready(request: HttpRequest) -> JsonResponse:
    """Each thing the service needs, checked; 503 where one is missing. Late work is told, not failed."""
    checks = {name: _checked(name, check) for name, check in CHECKS.items()}
    good = all(check["ok"] for check in checks.values())
    return _answer({"status": "ready" if good else "unready", "checks": checks}, 200 if good else 503)


def _answer(body: dict[str, Any], status: int) -> JsonResponse:
    response = JsonResponse(body, status=status)
    response["Cache-Control"] = "no-store"
    if status == 503:
        response["Retry-After"] = str(RETRY_S)
    return response


def _checked(name: str, check: Callable[[], Any]) -> dict[str, Any]:
    try:
        return {"ok": True, "detail": check()}
    except Unready as error:
        return {"ok": False, "detail": str(error)}
    except Exception:  # whatever a missing service raises: told in the log, not to the public
        logger.exception("health_check_failed", check=name)
        return {"ok": False, "detail": "does not answer"}


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT postgis_lib_version()")
        return f"PostGIS {cursor.fetchone()[0]}"


def _migrations() -> str:
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if missing:
        raise Unready(f"{len(missing)} migrations are not applied")
    return "all applied"


def _cache() -> str:
    mark = timezone.now().isoformat()
    cache.set("health", mark, 10)
    if cache.get("health") is None:
        raise Unready("does not keep what is written")
    return "answers"


def _municipality() -> str:
    found = Municipality.objects.first()
    if found is None:
        raise Unready("not founded: run `manage.py found`")
    if found.metric_srid != settings.METRIC_SRID:
        raise Unready(f"the database is in EPSG:{found.metric_srid}, METRIC_SRID says {settings.METRIC_SRID}")
    return f"EPSG:{found.metric_srid}"


def _work() -> dict[str, Any]:
    """Age in seconds of the oldest event without position and of the oldest job that waits; null where none."""
    event = _age_s(Event.objects.filter(position=None).aggregate(oldest=Min("happened_at"))["oldest"])
    job = _age_s(Job.objects.filter(state="queued").aggregate(oldest=Min("asked_at"))["oldest"])
    late = any(age is not None and age > LATE_S for age in (event, job))
    return {"oldest_unstamped_event_s": event, "oldest_queued_job_s": job, "late": late}


def _age_s(instant: datetime | None) -> int | None:
    return None if instant is None else max(0, round((timezone.now() - instant).total_seconds()))


CHECKS: Final[dict[str, Callable[[], Any]]] = {
    "database": _database,
    "migrations": _migrations,
    "redis": _cache,
    "municipality": _municipality,
    "work": _work,
}

urlpatterns = [
    path("live", live, name="health-live"),
    path("ready", ready, name="health-ready"),
]
