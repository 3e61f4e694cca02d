"""Decisions: who decided what about a tree, when, why and under which conditions."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from assessments.models.option import Option
from inventory.constraints import filled
from inventory.history import track
from inventory.models import Tree


@track("DecisionPast", "decision_past")
class Decision(models.Model):
    """An append-only fact. It asks for checks and makes no work item; changing one's mind is a new decision.

    The decisions of a tree are one chain: the one that no other supersedes is in force. `chosen` is the option as it
    was when it was chosen, with the estimate that was shown, so that a later edit changes no decision.
    """

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="decisions")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="decisions")
    option = models.ForeignKey(Option, on_delete=models.PROTECT, related_name="decisions")
    supersedes = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="superseded_by")
    decided_on = models.DateField()
    decided_by = models.TextField()  # the owner or who acts for it: not always a user of the service
    office = models.TextField()
    why = models.TextField()
    conditions = models.TextField(blank=True, db_default="")
    # Where a known defect is kept: which risk is accepted, in words, and until when.
    accepted_risk = models.TextField(blank=True, db_default="")
    ends_on = models.DateField(null=True)
    act_by = models.DateField(null=True)
    chosen = models.JSONField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "decision"
        constraints = [
            *(filled("decision", name) for name in ("content_sha256", "decided_by", "office", "why")),
            models.UniqueConstraint(fields=["tree"], condition=Q(supersedes=None), name="decision_first"),
            models.CheckConstraint(name="decision_accepted", condition=Q(accepted_risk="") | Q(ends_on__isnull=False)),
            models.CheckConstraint(name="decision_ends_on_order", condition=Q(ends_on__gte=F("decided_on"))),
            models.CheckConstraint(name="decision_act_by_order", condition=Q(act_by__gte=F("decided_on"))),
        ]

    def __str__(self) -> str:
        return f"{self.option} decided on {self.decided_on}"
