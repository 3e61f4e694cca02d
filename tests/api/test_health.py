"""Health: what is missing is told, and no secret with it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import OperationalError, connection
from django.test import Client, override_settings
from django.utils import timezone

from inventory import events
from inventory.history import SERVICE
from inventory.models import Event
from tests.support import build
from workers.models import Job

pytestmark = pytest.mark.django_db


def ready(status: int) -> dict[str, Any]:
    answer = Client().get("/health/ready")
    assert answer.status_code == status, answer.content
    assert answer["Cache-Control"] == "no-store"
    assert ("Retry-After" in answer) is (status == 503)
    found: dict[str, Any] = answer.json()["checks"]
    return found


def test_the_process_is_alive_without_its_database(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connection, "cursor", lambda *_: 1 / 0)
    answer = Client().get("/health/live")
    assert (answer.status_code, answer.json()) == (200, {"status": "live"})


def test_a_service_with_all_it_needs_is_ready(city: object) -> None:
    checks = ready(200)
    assert all(check["ok"] for check in checks.values())
    assert checks["database"]["detail"].startswith("PostGIS 3")


def test_a_service_without_a_municipality_is_not_ready() -> None:
    assert ready(503)["municipality"] == {"ok": False, "detail": "not founded: run `manage.py found`"}


@override_settings(METRIC_SRID=32633)
def test_another_metric_srid_than_the_one_founded_is_not_ready(city: object) -> None:
    check = ready(503)["municipality"]
    assert not check["ok"]
    assert "32626" in check["detail"]
    assert "32633" in check["detail"]


def test_a_lost_database_is_told_without_its_address(city: object, monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(*_: Any) -> None:
        raise OperationalError("connection to server at 10.0.0.1, user app failed: password")

    monkeypatch.setattr(connection, "cursor", lost)
    answer = Client().get("/health/ready")
    assert answer.status_code == 503
    assert answer.json()["checks"]["database"] == {"ok": False, "detail": "does not answer"}
    assert b"10.0.0.1" not in answer.content


def test_a_missing_migration_is_not_ready(city: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'api'")
    assert not ready(503)["migrations"]["ok"]


def test_late_work_is_told_with_its_age(city: object) -> None:
    with SERVICE.acting("news"):
        events.record(SERVICE, "test.happened", "test")
    Job.objects.create(kind="recompute", asked_at=timezone.now() - timedelta(hours=2))
    detail = ready(200)["work"]["detail"]
    assert detail["oldest_unstamped_event_s"] < 60
    assert 7190 <= detail["oldest_queued_job_s"] <= 7260
    assert detail["late"] is True
    Job.objects.all().delete()
    events.stamp()
    assert not Event.objects.filter(position=None).exists()
    detail = ready(200)["work"]["detail"]
    assert detail == {"oldest_unstamped_event_s": None, "oldest_queued_job_s": None, "late": False}


def test_health_needs_no_account(city: object) -> None:
    build.user()
    assert Client().get("/health/ready").status_code == 200
