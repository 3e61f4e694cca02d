"""Ratings: part x target, what the methods suggested and what the assessor decided."""

from django.db import models
from django.db.models import F, Q

from assessments.methods import risk
from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from assessments.models.target import Target
from inventory.constraints import filled, one_of
from inventory.history import track


@track("RatingPast", "rating_past")
class Rating(models.Model):
    """An append-only fact. A decision that differs from the suggestion carries its reason."""

    uid = models.UUIDField(unique=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="ratings")
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="ratings")
    target = models.ForeignKey(Target, on_delete=models.PROTECT, related_name="ratings")
    part = models.TextField()
    failure_suggested = models.TextField(null=True)
    failure = models.TextField()
    impact_suggested = models.TextField(null=True)
    impact = models.TextField()
    consequences = models.TextField()
    why_different = models.TextField(blank=True, db_default="")
    failure_and_impact = models.TextField(editable=False)
    risk = models.TextField(editable=False)
    # What the suggestion rests on: reasons in words, basis, what would sharpen it.
    suggestion = models.JSONField(default=dict)
    method_version = models.TextField()

    class Meta:
        db_table = "rating"
        constraints = [
            one_of("rating", "failure_suggested", risk.FAILURE),
            one_of("rating", "failure", risk.FAILURE),
            one_of("rating", "impact_suggested", risk.IMPACT),
            one_of("rating", "impact", risk.IMPACT),
            one_of("rating", "consequences", risk.CONSEQUENCES),
            one_of("rating", "failure_and_impact", risk.LIKELIHOOD),
            one_of("rating", "risk", risk.RISK),
            filled("rating", "part"),
            models.CheckConstraint(
                name="rating_reason_where_different",
                condition=~Q(why_different="")
                | (
                    (Q(failure_suggested=None) | Q(failure_suggested=F("failure")))
                    & (Q(impact_suggested=None) | Q(impact_suggested=F("impact")))
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} on {self.target}: {self.risk}"
