"""Jobs asked for through the API or a page and run here, as a worker would run them."""

import uuid
from typing import Any
from unittest import mock

import pytest
from rest_framework.test import APIClient

from tests.support.http import V1, key
from workers import jobs
from workers.models import Job


def run_job(client: APIClient, address: str, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Ask for a job at an address below /api/v1/, run it, and return it as its Location shows it."""
    response = client.post(f"{V1}/{address}", body, headers=key(), format="json")
    assert response.status_code == 202, response.content
    monkeypatch.setattr(jobs, "JobProgress", Still)
    jobs.run(Job.objects.get(uid=response.json()["uid"]).pk)
    job: dict[str, Any] = client.get(response["Location"]).json()
    return job


def worked(address: str) -> Job:
    """Run the job that the answer of a page leads to; return it as it ended."""
    job = Job.objects.get(uid=uuid.UUID(address.split("?")[0].rsplit("/", 1)[1]))
    with mock.patch.object(jobs, "JobProgress", Still):
        jobs.run(job.pk)
    job.refresh_from_db()
    return job


class Still:
    """Progress that writes nothing: a second connection would not see the rows of the test's transaction."""

    def __init__(self, job_id: int) -> None:
        pass

    def __call__(self, done: int, total: int | None, step: str) -> None:
        """Note nothing."""

    def __enter__(self) -> "Still":
        return self

    def __exit__(self, *error: object) -> None:
        pass
