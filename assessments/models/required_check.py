"""Required checks: a tree must be seen again by a day, for a reason."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import filled, one_of
from inventory.history import track
from inventory.models import Tree

KINDS = (
    "reinspect",
    "advanced_diagnosis",
    "after_work",
    "support",
    "storm",
    "excavation",
    "root_collar",
    "decision_end",  # the conditions of a decision lapse: written with it, settled by the next decision alone
    "other",
)
# Those that a person may ask for.
ASKED_KINDS = tuple(kind for kind in KINDS if kind != "decision_end")
SOURCES = ("assessor", "order", "decision", "storm", "project", "support", "request", "emergency", "decay")


@track("RequiredCheckPast", "required_check_past")
class RequiredCheck(models.Model):
    """Open until an inspection closes it or it is withdrawn with a reason. Due dates read only these and the policy."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID())
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="required_checks")
    kind = models.TextField(choices=[(v, v) for v in KINDS])
    due_on = models.DateField()
    why = models.TextField()
    source = models.TextField(choices=[(v, v) for v in SOURCES])
    inspection = models.ForeignKey(Inspection, null=True, on_delete=models.PROTECT, related_name="asked_checks")
    decision = models.ForeignKey(
        "assessments.Decision", null=True, on_delete=models.PROTECT, related_name="asked_checks"
    )
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    # The municipal day from which an inspection can satisfy it.
    asked_on = models.DateField()
    asked_at = models.DateTimeField(db_default=Now())
    closed_by = models.ForeignKey(Inspection, null=True, on_delete=models.PROTECT, related_name="closed_checks")
    closed_on = models.DateField(null=True)
    withdrawn_why = models.TextField(blank=True, db_default="")

    class Meta:
        db_table = "required_check"
        indexes = [
            models.Index(fields=["tree"], condition=Q(closed_on=None), name="required_check_open"),
        ]
        constraints = [
            one_of("required_check", "kind", KINDS),
            one_of("required_check", "source", SOURCES),
            filled("required_check", "why"),
            models.CheckConstraint(
                name="required_check_closed",
                condition=Q(closed_on=None, closed_by=None, withdrawn_why="")
                | Q(closed_on__isnull=False, closed_by__isnull=False, withdrawn_why="")
                | (Q(closed_on__isnull=False, closed_by=None) & ~Q(withdrawn_why="")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} due {self.due_on}"
