"""Dry runs and merges of foreign files: what was found of each row, kept so that it can be paged and downloaded."""

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import one_of
from inventory.models import fields
from inventory.models.intake_load import IntakeLoad

ROW_VERDICTS = ("accepted", "warned", "refused")
MERGE_STATES = ("checked", "merged", "undone")
KINDS = (
    "same", "changed", "moved", "appeared", "gone", "returned", "vanished", "only_ours", "ambiguous", "refused",
)  # fmt: skip


class IntakeSurvey(models.Model):
    """The notes of the latest survey of a file, by its content; a load of the file takes them over."""

    file_sha256 = models.CharField(max_length=64, unique=True)
    notes = models.JSONField(default=list)
    surveyed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "intake_survey"

    def __str__(self) -> str:
        return f"survey of {self.file_sha256[:12]}"


class IntakeCheck(models.Model):
    """One dry run of a load: of which file, under which mapping, and the counts of its verdicts."""

    uid = fields.uid()
    file_name = models.TextField()
    file_sha256 = models.CharField(max_length=64)
    mapping = models.TextField()
    counts = models.JSONField(default=dict)
    checked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    checked_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "intake_check"
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"check of {self.file_name}"


class IntakeCheckRow(models.Model):
    """A row of which a check had something to say."""

    of = models.ForeignKey(IntakeCheck, on_delete=models.CASCADE, related_name="rows")
    line = models.IntegerField()
    verdict = models.TextField()
    reasons = ArrayField(models.TextField())
    details = ArrayField(models.TextField())
    cells = models.JSONField()

    class Meta:
        db_table = "intake_check_row"
        constraints = [one_of("intake_check_row", "verdict", ROW_VERDICTS)]

    def __str__(self) -> str:
        return f"line {self.line}: {self.verdict}"


class IntakeMerge(models.Model):
    """A later file of the city against what stands here: as a dry run, merged, or undone again."""

    uid = fields.uid()
    state = models.TextField(choices=[(s, s) for s in MERGE_STATES], db_default="checked")
    # The load that holds what the merge brought in; a dry run has none.
    load = models.OneToOneField(IntakeLoad, null=True, on_delete=models.PROTECT, related_name="merge")
    file_name = models.TextField()
    file_sha256 = models.CharField(max_length=64)
    mapping = models.TextField()
    choices = models.JSONField(default=dict)
    counts = models.JSONField(default=dict)
    notices = models.JSONField(default=list)
    # The acts in the history by which it was written and put back: what they changed no person changed.
    act = models.UUIDField(null=True)
    undo_act = models.UUIDField(null=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "intake_merge"
        ordering = ["-id"]
        constraints = [
            one_of("intake_merge", "state", MERGE_STATES),
            models.CheckConstraint(name="intake_merge_load", condition=Q(state="checked") ^ Q(load__isnull=False)),
        ]

    def __str__(self) -> str:
        return f"{self.file_name} ({self.state})"


class IntakeMergeRow(models.Model):
    """One row of the file or one tree of ours that is not simply the same, and what was done about it."""

    merge = models.ForeignKey(IntakeMerge, on_delete=models.CASCADE, related_name="rows")
    line = models.IntegerField(null=True)  # of the file; none for what only we have
    tree_uid = models.UUIDField(null=True)  # plain: the tree may be taken back
    kind = models.TextField()
    # Names of what differs and where it stands (free, conflict, kept, systematic): [{field, ours, file, ...}].
    differing = ArrayField(models.TextField(), default=list)
    standings = ArrayField(models.TextField(), default=list)
    differences = models.JSONField(default=list)
    distance_m = models.FloatField(null=True)
    taken = models.BooleanField(db_default=False)
    about = models.JSONField(default=dict)
    reasons = ArrayField(models.TextField(), default=list)
    details = ArrayField(models.TextField(), default=list)

    class Meta:
        db_table = "intake_merge_row"
        indexes = [models.Index(fields=["merge", "kind", "id"], name="intake_merge_row_kind")]
        constraints = [one_of("intake_merge_row", "kind", KINDS)]

    def __str__(self) -> str:
        return f"line {self.line}: {self.kind}"
