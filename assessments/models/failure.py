"""Failures: a part of a tree broke or the tree fell, when, in which storm, and what it struck."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from assessments.methods import risk
from assessments.methods.catalogue import PARTS
from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from assessments.models.storm import Storm
from assessments.models.target import KINDS
from inventory.constraints import filled, one_of
from inventory.history import track
from inventory.models import Tree

STRUCK = ("nothing", *KINDS)


@track("FailurePast", "failure_past")
class Failure(models.Model):
    """An append-only fact that may arrive late. It happened on one day, or at some time between two."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="failures")
    part = models.TextField(choices=[(v, v) for v in PARTS])
    happened_from = models.DateField()
    happened_to = models.DateField()
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="failures")
    # The look that told of it, such as that of an emergency.
    inspection = models.ForeignKey(Inspection, null=True, on_delete=models.PROTECT, related_name="failures")
    storm = models.ForeignKey(Storm, null=True, on_delete=models.PROTECT, related_name="failures")
    struck = models.TextField(choices=[(v, v) for v in STRUCK])
    damage = models.TextField(null=True, choices=[(v, v) for v in risk.CONSEQUENCES])
    seen_by = models.TextField()
    note = models.TextField(blank=True, db_default="")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "failure"
        constraints = [
            filled("failure", "content_sha256"),
            filled("failure", "seen_by"),
            one_of("failure", "part", PARTS),
            one_of("failure", "struck", STRUCK),
            one_of("failure", "damage", risk.CONSEQUENCES),
            models.CheckConstraint(name="failure_dates", condition=Q(happened_to__gte=F("happened_from"))),
            models.CheckConstraint(
                name="failure_damage", condition=Q(struck="nothing", damage=None) | ~Q(struck="nothing")
            ),
        ]

    def __str__(self) -> str:
        return f"failure of the {self.part} on {self.happened_from}"
