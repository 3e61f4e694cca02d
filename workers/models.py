"""Jobs: long work as rows, so that a lost broker forgets nothing."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import one_of

KINDS = ("intake_survey", "intake_check", "intake_load", "recompute")
STATES = ("queued", "running", "done", "failed", "cancelled")


class Job(models.Model):
    """One piece of long work: who asked, how far it is, what came of it. Cancel is a column the work polls."""

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
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
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
