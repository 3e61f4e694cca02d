"""Findings: one weakness at one part of the tree, seen at one inspection."""

from django.db import models
from django.db.models import Q

from assessments.models.inspection import Inspection
from inventory.constraints import between, filled
from inventory.history import track

FUNGUS_CONFIDENCE = ("certain", "probable", "guess")


@track("FindingPast", "finding_past")
class Finding(models.Model):
    """An append-only fact. Kind, part and measures are checked against the catalogue in methods/findings.py."""

    uid = models.UUIDField(unique=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="findings")
    continues = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="continued_by")
    kind = models.TextField()
    part = models.TextField()
    part_diameter_cm = models.FloatField(null=True)
    height_m = models.FloatField(null=True)
    azimuth_deg = models.FloatField(null=True)
    measures = models.JSONField(default=dict)
    fungus_genus = models.TextField(blank=True, db_default="")
    fungus_confidence = models.TextField(null=True, choices=[(v, v) for v in FUNGUS_CONFIDENCE])
    note = models.TextField(blank=True, db_default="")

    class Meta:
        db_table = "finding"
        constraints = [
            models.UniqueConstraint(fields=["inspection", "continues"], name="finding_continued_once"),
            filled("finding", "kind"),
            filled("finding", "part"),
            between("finding", "part_diameter_cm", 0, 1500),
            between("finding", "height_m", 0, 130),
            between("finding", "azimuth_deg", 0, 360),
            models.CheckConstraint(
                name="finding_fungus_confidence",
                condition=Q(fungus_genus="", fungus_confidence=None)
                | (~Q(fungus_genus="") & Q(fungus_confidence__in=FUNGUS_CONFIDENCE)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at the {self.part}"
