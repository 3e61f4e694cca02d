"""Loads of foreign inventories: what came in, from which file, under which mapping, and the verdict of each row."""

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import one_of
from inventory.models import fields

STATES = ("loaded", "undone")
VERDICTS = ("warned", "refused")


class IntakeLoad(models.Model):
    """One load: all of it or nothing of it is in the inventory."""

    uid = fields.uid()
    file_name = models.TextField()
    file_sha256 = models.CharField(max_length=64)
    mapping = models.TextField()  # the mapping as TOML, as it was used
    state = models.TextField(choices=[(s, s) for s in STATES], db_default="loaded")
    counts = models.JSONField(default=dict)
    # What the survey noted of the file: texts, as it told them.
    notes = models.JSONField(default=list)
    loaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    loaded_at = models.DateTimeField(db_default=Now())
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        db_table = "intake_load"
        ordering = ["-id"]
        constraints = [
            one_of("intake_load", "state", STATES),
            models.CheckConstraint(name="intake_load_undone", condition=Q(state="undone") ^ Q(undone_at__isnull=True)),
        ]

    def __str__(self) -> str:
        return f"{self.file_name} ({self.state})"


class IntakeVerdict(models.Model):
    """A row of a load that was not simply accepted: refused, or accepted with a warning, and why."""

    APPEND_ONLY = True

    load = models.ForeignKey(IntakeLoad, on_delete=models.CASCADE, related_name="verdicts")
    line = models.IntegerField()
    verdict = models.TextField()
    # The names of the checks, and beside each what it said of this row.
    reasons = ArrayField(models.TextField())
    details = ArrayField(models.TextField())
    # The cells as they stood in the file, so that nothing refused is lost.
    cells = models.JSONField()

    class Meta:
        db_table = "intake_verdict"
        constraints = [
            one_of("intake_verdict", "verdict", VERDICTS),
            models.UniqueConstraint(fields=["load", "line"], name="intake_verdict_line"),
        ]

    def __str__(self) -> str:
        return f"line {self.line}: {self.verdict}"
