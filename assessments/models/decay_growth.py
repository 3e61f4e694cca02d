"""Decay growth: how far each decayed part of an inspection will have spread, and when it is to be seen again."""

from django.db import models
from django.db.models.functions import Now

from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from assessments.models.section import Section
from inventory.constraints import filled


class DecayGrowth(models.Model):
    """Derived: what one version of the method made of one decayed part. A newer version adds a row; the old one stays.

    Kept where something was measured inside, or where roots or butt rot. `asked` is the request as it was put
    together from section, finding, inspection, tree and policy, so that it can be computed again.
    """

    APPEND_ONLY = True

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="decay_growths")
    # What it was measured by and what it is about; a section without a finding stands for itself.
    section = models.ForeignKey(Section, null=True, on_delete=models.PROTECT, related_name="decay_growths")
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="decay_growths")
    # The first finding of the chain that `finding` continues: what is measured again is no longer due.
    defect = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="+")
    part = models.TextField()
    height_m = models.FloatField(null=True)
    asked = models.JSONField()
    method = models.TextField()
    version = models.IntegerField()
    rests_on = models.TextField()  # the methods that it rests on, each with its version, and the numbers of the policy
    result = models.JSONField()
    banded = models.BooleanField()  # measured inside, so that there is a band over years
    first_year = models.SmallIntegerField(null=True)  # in which the chance of crossing reaches the policy's
    due_on = models.DateField(null=True)
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "decay_growth"
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "section", "finding", "method", "version", "rests_on"],
                name="decay_growth_once",
                nulls_distinct=False,
            ),
            filled("decay_growth", "method"),
            filled("decay_growth", "part"),
            models.CheckConstraint(
                name="decay_growth_about",
                condition=models.Q(section__isnull=False) | models.Q(finding__isnull=False),
            ),
            models.CheckConstraint(
                name="decay_growth_due",
                condition=models.Q(first_year=None, due_on=None) | models.Q(first_year__gte=0, due_on__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"decay growth at the {self.part} by {self.method}/{self.version}"
