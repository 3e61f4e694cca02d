"""Sections: what was measured inside the stem at one height, and what each version of the method made of it."""

from django.db import models
from django.db.models.functions import Now

from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from inventory.constraints import between, filled
from inventory.history import track


@track("SectionPast", "section_past")
class Section(models.Model):
    """An append-only fact. `measured` is the request of methods/section as it was sent, checked by the method."""

    uid = models.UUIDField(unique=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="sections")
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="sections")
    height_m = models.FloatField()
    measured = models.JSONField()

    class Meta:
        db_table = "section"
        constraints = [between("section", "height_m", 0, 150)]

    def __str__(self) -> str:
        return f"section at {self.height_m:g} m"


class SectionResult(models.Model):
    """Derived: what one version of the method made of a section. A newer version adds a row; the old one stays."""

    APPEND_ONLY = True

    section = models.ForeignKey(Section, on_delete=models.PROTECT, related_name="results")
    method = models.TextField()
    version = models.IntegerField()
    draws = models.IntegerField()  # of the interval
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "section_result"
        constraints = [
            models.UniqueConstraint(fields=["section", "method", "version"], name="section_result_once"),
            filled("section_result", "method"),
        ]

    def __str__(self) -> str:
        return f"{self.section} by {self.method}/{self.version}"
