"""Jobs run inside a test, as a worker would."""

import uuid
from unittest import mock

from workers import jobs
from workers.models import Job


class QuietProgress:
    """Progress without a connection of its own, which would not see the test's transaction."""

    def __init__(self, job_id: int) -> None:
        pass

    def __enter__(self) -> "QuietProgress":
        return self

    def __exit__(self, *args: object) -> None:
        pass

    def __call__(self, done: int, total: int | None, step: str) -> None:
        pass


def worked(address: str) -> Job:
    """Run the job that an address leads to; return it as it ended."""
    job = Job.objects.get(uid=uuid.UUID(address.split("?")[0].rsplit("/", 1)[1]))
    with mock.patch.object(jobs, "JobProgress", QuietProgress):
        jobs.run(job.pk)
    job.refresh_from_db()
    return job
