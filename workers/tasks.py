"""Thin tasks: each calls one function that can be read and tested without Celery."""

from celery import shared_task

from assessments import restate
from assessments.services.calibrations import learn
from assessments.services.growths import follow_policy
from assessments.services.stem_loads import recompute_stored
from assessments.works import paging
from workers import drain as news
from workers import jobs, wake


@shared_task
def drain() -> None:
    """Act on what happened; if that marked anything, have it recomputed."""
    if news.drain():
        wake.send("workers.tasks.recompute_marked")


@shared_task
def recompute_marked() -> None:
    """Compute again what was marked; after a new policy the decay growths first, whose dates the priorities take."""
    follow_policy()
    restate.restate_marked()


@shared_task
def recompute_all() -> None:
    """The nightly pass: what older versions computed, then every tree, then what opened stems teach."""
    recompute_stored()
    restate.restate_all()
    learn()


@shared_task
def run_job(job_id: int) -> None:
    """Run one job."""
    jobs.run(job_id)


@shared_task
def revive_jobs() -> None:
    """Find the jobs that were lost or left."""
    jobs.revive()


@shared_task
def page_duty() -> None:
    """Page the duty forester of emergencies whose page did not go out."""
    paging.page_waiting()
