"""Options: what could be done about an inspected tree, and what the methods said of each."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import between, filled, one_of
from inventory.history import track, versioned

SOURCES = ("method", "arborist")


@track("OptionPast", "option_past")
class Option(models.Model):
    """One alternative. Proposed by the method or added by the arborist, who may edit it or drop it, saying why.

    `key` tells two of one kind apart (another share of the crown). What the arborist states in place of the method
    stands in `own_*` with its reason; what the method said stays beside it in the estimates. None is preselected.
    """

    uid = models.UUIDField(unique=True, db_default=RandomUUID())
    content_sha256 = models.CharField(max_length=64, blank=True, db_default="", editable=False)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="options")
    kind = models.TextField()
    key = models.TextField()
    parameters = models.JSONField(default=dict)
    source = models.TextField(choices=[(v, v) for v in SOURCES])
    note = models.TextField(blank=True, db_default="")
    act_by = models.DateField(null=True)
    own_cost = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    own_crew_hours = models.FloatField(null=True)
    # By rating: [{"rating": uid, "failure": word, "impact": word, "consequences": word}].
    own_residual = models.JSONField(null=True)
    own_why = models.TextField(blank=True, db_default="")
    dropped_why = models.TextField(blank=True, db_default="")
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField(db_default=Now(), editable=False)
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "option"
        triggers = [versioned()]
        constraints = [
            one_of("option", "source", SOURCES),
            filled("option", "kind"),
            filled("option", "key"),
            between("option", "own_cost", 0, 9_999_999_999),
            between("option", "own_crew_hours", 0, 100_000),
            models.UniqueConstraint(fields=["inspection", "key"], name="option_once"),
            models.CheckConstraint(
                name="option_own_why",
                condition=Q(own_cost=None, own_crew_hours=None, own_residual=None) | ~Q(own_why=""),
            ),
        ]

    def __str__(self) -> str:
        return self.key


class OptionEstimate(models.Model):
    """Derived: what the methods said of an option, at one time, by one rate card. A later one adds a row."""

    APPEND_ONLY = True

    option = models.ForeignKey(Option, on_delete=models.PROTECT, related_name="estimates")
    methods = models.TextField()  # each with its version
    rate_card_version = models.IntegerField()
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "option_estimate"
        constraints = [filled("option_estimate", "methods")]

    def __str__(self) -> str:
        return f"{self.option} by {self.methods}"


class OptionComparison(models.Model):
    """Derived: the options of an inspection set side by side as they were, and what a further diagnosis is worth.

    `result`: `options` (uid, measures, which dominate it and why) and `information` (or null). None is selected.
    """

    APPEND_ONLY = True

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="option_comparisons")
    methods = models.TextField()  # each with its version
    rate_card_version = models.IntegerField()
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "option_comparison"
        constraints = [filled("option_comparison", "methods")]

    def __str__(self) -> str:
        return f"options of {self.inspection} compared"
