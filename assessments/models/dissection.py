"""Dissections: what was found inside a felled stem, cut by cut, and what the methods made of it."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import between, filled, one_of
from inventory.history import track
from inventory.models import Tree

REASONS = ("predicted_weakness", "storm_failure", "construction", "utility", "pest", "random_sample")


@track("DissectionPast", "dissection_past")
class Dissection(models.Model):
    """An append-only fact; it may arrive late and twice. `measured` is what was sent of the stem as a whole."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="dissections")
    felled_on = models.DateField()
    dissected_on = models.DateField()
    reason = models.TextField(choices=[(v, v) for v in REASONS])
    measured = models.JSONField(default=dict)
    note = models.TextField(blank=True, db_default="")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "dissection"
        constraints = [
            one_of("dissection", "reason", REASONS),
            filled("dissection", "content_sha256"),
            models.CheckConstraint(name="dissection_dates", condition=Q(dissected_on__gte=F("felled_on"))),
        ]

    def __str__(self) -> str:
        return f"dissection of {self.tree} on {self.dissected_on}"


@track("DissectionCutPast", "dissection_cut_past")
class DissectionCut(models.Model):
    """An append-only fact: one cut as it was sent, checked by the method, at its height above ground."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    dissection = models.ForeignKey(Dissection, on_delete=models.PROTECT, related_name="cuts")
    height_m = models.FloatField()
    measured = models.JSONField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "dissection_cut"
        constraints = [
            filled("dissection_cut", "content_sha256"),
            between("dissection_cut", "height_m", 0, 130),
            models.UniqueConstraint(fields=["dissection", "height_m"], name="dissection_cut_height"),
        ]

    def __str__(self) -> str:
        return f"cut at {self.height_m:g} m"


class DissectionResult(models.Model):
    """Derived: what one version of a method made of the cuts that there were then. A later one adds a row.

    `inspection`: the judgement that was held against the truth (null: the stem itself, or nothing was predicted).
    """

    APPEND_ONLY = True

    dissection = models.ForeignKey(Dissection, on_delete=models.PROTECT, related_name="results")
    inspection = models.ForeignKey(Inspection, null=True, on_delete=models.PROTECT, related_name="held_against")
    method = models.TextField()
    version = models.IntegerField()
    rests_on = models.TextField(blank=True, db_default="")  # the methods that it rests on, each with its version
    of_sha256 = models.CharField(max_length=64)  # of all that it was computed from
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "dissection_result"
        constraints = [
            filled("dissection_result", "method"),
            models.UniqueConstraint(
                fields=["dissection", "method", "version", "rests_on", "of_sha256"], name="dissection_result_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.dissection} by {self.method}/{self.version}"
