"""A job's sign of life: progress is reported beside the work's own transaction, and cancel is heard there."""

import threading
from types import TracebackType

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from inventory.intake.progress import Cancelled

EVERY_S = 1.0


class JobProgress:
    """Called by the work as `progress(done, total, step)`; raises Cancelled once cancel was asked.

    A thread with a connection of its own writes the figures each second: the work's transaction may be long and
    its rows are invisible until it commits.
    """

    def __init__(self, job_id: int) -> None:
        self._job_id = job_id
        self._figures: tuple[int, int | None, str] = (0, None, "")
        self._stop = threading.Event()
        self._cancelled = threading.Event()
        self._thread = threading.Thread(target=self._report, name=f"job-{job_id}", daemon=True)

    def __call__(self, done: int, total: int | None, step: str) -> None:
        """Note how far the work is. Raises Cancelled."""
        self._figures = (done, total, step)
        if self._cancelled.is_set():
            raise Cancelled

    def __enter__(self) -> "JobProgress":
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop.set()
        self._thread.join()

    def _report(self) -> None:
        connection = connections.create_connection("default")
        try:
            while not self._stop.wait(EVERY_S):
                self._write(connection)
            self._write(connection)
        finally:
            connection.close()

    def _write(self, connection: BaseDatabaseWrapper) -> None:
        with connection.cursor() as cursor:
            cursor.execute(
                "UPDATE job SET done = %s, total = %s, step = %s, seen_at = now() WHERE id = %s RETURNING cancel_asked",
                [*self._figures, self._job_id],
            )
            row = cursor.fetchone()
        if row is None or row[0]:
            self._cancelled.set()
