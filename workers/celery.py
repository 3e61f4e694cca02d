"""The Celery app and its schedule, as code."""

import os

from celery import Celery
from celery.schedules import crontab
from django_structlog.celery.steps import DjangoStructLogInitStep

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("boleward")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.steps["worker"].add(DjangoStructLogInitStep)

# Rows are the truth: a task that is lost is found again by the schedule, so results are not kept.
app.conf.beat_schedule = {
    "drain news": {"task": "workers.tasks.drain", "schedule": 10.0},
    "recompute marked trees": {"task": "workers.tasks.recompute_marked", "schedule": 60.0},
    "revive jobs": {"task": "workers.tasks.revive_jobs", "schedule": 60.0},
    "page the duty forester": {"task": "workers.tasks.page_duty", "schedule": 60.0},
    "nightly pass": {"task": "workers.tasks.recompute_all", "schedule": crontab(hour="2", minute="30")},
}
