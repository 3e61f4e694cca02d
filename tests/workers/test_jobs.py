"""Jobs: run once, cancelled, failed and revived; the row is the truth."""

import time
import uuid
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.db import connection
from django.utils import timezone

from inventory.history import SERVICE, Author
from inventory.intake.progress import Cancelled
from inventory.problems import Conflict, Invalid, Missing
from tests.support import build
from workers import jobs
from workers.models import Job
from workers.progress import JobProgress

# Progress is written beside the work's transaction, so these need commits.
pytestmark = pytest.mark.django_db(transaction=True)


def ask(runner: Any, **params: Any) -> tuple[Job, Any]:
    """A queued job of a kind that runs `runner`, and the patch that makes it so."""
    with patch("workers.wake.send"):
        job = jobs.ask(SERVICE, "recompute", params)
    return job, patch.dict(jobs.RUNNERS, {"recompute": runner})


def test_a_job_runs_once_and_keeps_its_result() -> None:
    runs: list[dict[str, Any]] = []

    def runner(author: Author, params: dict[str, Any], progress: Any) -> dict[str, Any]:
        runs.append(params)
        progress(1, 2, "half")
        return {"trees": 7}

    job, patched = ask(runner, a=1)
    with patched:
        jobs.run(job.pk)
        jobs.run(job.pk)
    job.refresh_from_db()
    assert runs == [{"a": 1}]
    assert (job.state, job.result, job.done, job.total, job.step) == ("done", {"trees": 7}, 1, 2, "half")
    assert job.finished_at is not None


def test_a_refusal_becomes_the_problem_of_the_job() -> None:
    def runner(author: Author, params: dict[str, Any], progress: Any) -> dict[str, Any]:
        raise Invalid.field("#/mapping/crs", "unknown")

    job, patched = ask(runner)
    with patched:
        jobs.run(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert job.problem is not None
    assert job.problem["errors"] == [{"pointer": "#/mapping/crs", "detail": "unknown"}]


def test_a_crash_says_no_more_than_that_it_failed() -> None:
    def runner(author: Author, params: dict[str, Any], progress: Any) -> dict[str, Any]:
        raise RuntimeError("secret path")

    job, patched = ask(runner)
    with patched:
        jobs.run(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert "secret" not in str(job.problem)


def test_a_queued_job_that_is_cancelled_never_runs() -> None:
    job, patched = ask(lambda *_: pytest.fail("it ran"))
    jobs.cancel(SERVICE, job.uid)
    with patched:
        jobs.run(job.pk)
    job.refresh_from_db()
    assert job.state == "cancelled"
    with pytest.raises(Conflict):
        jobs.cancel(SERVICE, job.uid)


def test_a_running_job_hears_the_cancel_while_its_own_transaction_is_open() -> None:
    def runner(author: Author, params: dict[str, Any], progress: Any) -> dict[str, Any]:
        with SERVICE.acting("long work"):
            Job.objects.create(kind="recompute", step="must not stay")
            jobs_connection = connection.connection
            assert jobs_connection is not None
            _ask_to_cancel(job.pk)
            for step in range(200):
                progress(step, 200, "working")
                time.sleep(0.05)
        raise AssertionError("it was not cancelled")

    job, patched = ask(runner)
    with patched, patch("workers.progress.EVERY_S", 0.05):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert job.state == "cancelled"
    assert not Job.objects.filter(step="must not stay").exists()


def _ask_to_cancel(job_id: int) -> None:
    """As another process would: on a connection of its own."""
    other = connection.copy()
    try:
        with other.cursor() as cursor:
            cursor.execute("UPDATE job SET cancel_asked = true WHERE id = %s", [job_id])
    finally:
        other.close()


def test_progress_of_a_job_that_is_gone_is_a_cancel() -> None:
    with patch("workers.progress.EVERY_S", 0.02), JobProgress(10**9) as progress:
        time.sleep(0.5)
        with pytest.raises(Cancelled):
            progress(0, None, "")


def test_what_the_broker_forgot_and_a_dead_worker_left_is_sent_again() -> None:
    long_ago = timezone.now() - timedelta(hours=1)
    lost = Job.objects.create(kind="recompute", asked_at=long_ago)
    dead = Job.objects.create(kind="recompute", state="running", attempts=1, asked_at=long_ago, seen_at=long_ago)
    worn = Job.objects.create(kind="recompute", state="running", attempts=3, asked_at=long_ago, seen_at=long_ago)
    alive = Job.objects.create(kind="recompute", state="running", attempts=1, seen_at=timezone.now())
    with patch("workers.wake.send") as send:
        assert jobs.revive() == 2
    assert sorted(call.args[1] for call in send.call_args_list) == [lost.pk, dead.pk]
    states = dict(Job.objects.values_list("pk", "state"))
    assert (states[dead.pk], states[worn.pk], states[alive.pk]) == ("queued", "failed", "running")


def test_one_sees_its_own_jobs_and_a_forester_sees_all() -> None:
    inspector, forester = build.user("inspector"), build.user("forester")
    with patch("workers.wake.send"):
        job = jobs.ask(Author(inspector.pk), "recompute", {})
        other = jobs.ask(SERVICE, "recompute", {})
    assert list(jobs.visible_to(inspector)) == [job]
    assert set(jobs.visible_to(forester)) == {job, other}


def test_there_is_no_cancelling_what_there_is_not() -> None:
    with pytest.raises(Missing):
        jobs.cancel(SERVICE, uuid.uuid4())
