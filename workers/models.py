"""Jobs, and how far each reader of the news has come."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import one_of
from inventory.models import Event

KINDS = (
    "intake_survey", "intake_check", "intake_load", "intake_undo", "intake_merge_check", "intake_merge", "recompute",
    "calibrate",
)  # fmt: skip
STATES = ("queued", "running", "done", "failed", "cancelled")


class Job(models.Model):
    """One piece of long work: who asked, how far it is, what came of it. Cancel is a column that is polled."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)
    kind = models.TextField(choices=[(k, k) for k in KINDS])
    state = models.TextField(choices=[(s, s) for s in STATES], db_default="queued")
    params = models.JSONField(default=dict)
    done = models.BigIntegerField(db_default=0)
    total = models.BigIntegerField(null=True)
    step = models.TextField(blank=True, db_default="")
    result = models.JSONField(null=True)
    problem = models.JSONField(null=True)  # RFC 9457
    cancel_asked = models.BooleanField(db_default=False)
    attempts = models.SmallIntegerField(db_default=0)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(db_default=Now())
    started_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(null=True)  # the work's last sign of life
    finished_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "job"
        ordering = ["-id"]
        indexes = [models.Index(fields=["state"], condition=Q(finished_at=None), name="job_open")]
        constraints = [one_of("job", "kind", KINDS), one_of("job", "state", STATES)]

    def __str__(self) -> str:
        return f"{self.kind} {self.state}"


class Reader(models.Model):
    """How far one reader of the events has come, by position."""

    name = models.TextField(primary_key=True)
    position = models.BigIntegerField(db_default=0)
    attempts = models.SmallIntegerField(db_default=0)  # at the event after `position`

    class Meta:
        db_table = "reader"

    def __str__(self) -> str:
        return f"{self.name} at {self.position}"


class StuckEvent(models.Model):
    """An event that a reader gave up on after several attempts: for a person to look at."""

    reader = models.ForeignKey(Reader, on_delete=models.CASCADE, related_name="stuck")
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="+")
    problem = models.TextField()
    given_up_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "stuck_event"
        constraints = [models.UniqueConstraint(fields=["reader", "event"], name="stuck_event_once")]

    def __str__(self) -> str:
        return f"{self.event} at {self.reader}"
