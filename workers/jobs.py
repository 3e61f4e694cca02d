"""Jobs: asked for, run once, cancelled, revived. The row is the truth; the broker only hurries it."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any, Protocol

import structlog
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from assessments import restate, services
from inventory import events
from inventory.history import Author
from inventory.intake import run as intake
from inventory.intake.progress import Cancelled
from inventory.people.models import User
from inventory.problems import Conflict, Missing, Refusal
from workers import wake
from workers.models import Job
from workers.progress import JobProgress

log = structlog.get_logger(__name__)

DEAD_AFTER = timedelta(minutes=2)
LOST_AFTER = timedelta(seconds=30)
MAX_ATTEMPTS = 3


class Progress(Protocol):
    """What the work calls to say how far it is."""

    def __call__(self, done: int, total: int | None, step: str) -> None:
        """Raises Cancelled."""


Runner = Callable[[Author, dict[str, Any], Progress], dict[str, Any]]


def _recompute(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    stored = services.recompute_stored(progress).as_dict()
    return {**restate.restate_all(progress).as_dict(), **stored, **services.learn(progress)}


def _calibrate(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    made, created = services.calibrate(author, progress)
    return {"version": made.version, "trees": made.trees, "created": created}


RUNNERS: dict[str, Runner] = {
    "intake_survey": intake.survey,
    "intake_check": intake.check,
    "intake_load": intake.load,
    "intake_undo": intake.undo,
    "intake_merge_check": intake.merge_check,
    "intake_merge": intake.merge,
    "recompute": _recompute,
    "calibrate": _calibrate,
}


def ask(author: Author, kind: str, params: dict[str, Any]) -> Job:
    """Write a job and hurry it on once the transaction commits."""
    with transaction.atomic():
        job = Job.objects.create(kind=kind, params=params, asked_by_id=author.user_id)
        events.record(author, "job.asked", "job", job.uid, data={"kind": kind})
        transaction.on_commit(lambda: wake.send("workers.tasks.run_job", job.pk))
    return job


def visible_to(user: User) -> QuerySet[Job]:
    """The jobs a person may see: all for those who may view jobs, else its own."""
    mine = Q(asked_by=user)
    return Job.objects.all() if user.may("jobs.view") else Job.objects.filter(mine)


def cancel(author: Author, uid: uuid.UUID) -> Job:
    """Ask a job to stop; nothing of it stays. Raises Missing, or Conflict where it has ended."""
    with transaction.atomic():
        job = Job.objects.select_for_update().filter(uid=uid).first()
        if job is None:
            raise Missing(f"there is no job {uid}")
        if job.finished_at:
            raise Conflict(f"the job is {job.state} already")
        job.cancel_asked = True
        if job.state == "queued":
            job.state, job.finished_at = "cancelled", timezone.now()
        job.save(update_fields=["cancel_asked", "state", "finished_at"])
        events.record(author, "job.cancelled", "job", job.uid)
    return job


def run(job_id: int) -> None:
    """Run a queued job to its end; a job that is not queued is somebody else's."""
    job = _claim(job_id)
    if job is None:
        return
    author = Author(job.asked_by_id, f"job {job.uid}")
    try:
        with JobProgress(job.pk) as progress:
            result = RUNNERS[job.kind](author, job.params, progress)
    except Cancelled:
        _finish(job, "cancelled")
    except Refusal as refusal:
        _finish(job, "failed", problem=_problem(refusal))
    except Exception:
        log.exception("job failed", job=str(job.uid), kind=job.kind)
        _finish(job, "failed", problem={"title": "The work failed", "status": 500, "detail": "see the log"})
    else:
        _finish(job, "done", result=result)


@transaction.atomic
def _claim(job_id: int) -> Job | None:
    job = Job.objects.select_for_update(skip_locked=True).filter(pk=job_id, state="queued").first()
    if job is None:
        return None
    job.state, job.attempts = "running", job.attempts + 1
    job.started_at = job.seen_at = timezone.now()
    job.save(update_fields=["state", "attempts", "started_at", "seen_at"])
    return job


def _finish(job: Job, state: str, result: dict[str, Any] | None = None, problem: dict[str, Any] | None = None) -> None:
    Job.objects.filter(pk=job.pk, state="running").update(
        state=state, result=result, problem=problem, finished_at=timezone.now()
    )


def _problem(refusal: Refusal) -> dict[str, Any]:
    return {
        "title": refusal.title,
        "status": refusal.status,
        "detail": refusal.detail,
        "errors": [{"pointer": e.pointer, "detail": e.detail} for e in refusal.errors],
    }


def revive() -> int:
    """Send again what the broker forgot and what a dead worker left; return how many jobs were sent."""
    now = timezone.now()
    dead = Job.objects.filter(state="running", seen_at__lt=now - DEAD_AFTER)
    dead.filter(attempts__gte=MAX_ATTEMPTS).update(
        state="failed",
        finished_at=now,
        problem={"title": "The work was broken off several times", "status": 500, "detail": "see the log"},
    )
    dead.update(state="queued")
    lost = Job.objects.filter(state="queued", asked_at__lt=now - LOST_AFTER).values_list("pk", flat=True)
    for job_id in (found := list(lost)):
        wake.send("workers.tasks.run_job", job_id)
    return len(found)
