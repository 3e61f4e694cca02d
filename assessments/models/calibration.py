"""Calibrations: what the dissections taught about the estimates, and the trees to be looked at again for it."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from assessments.models.rating import Rating
from assessments.models.section import Section
from inventory.constraints import filled
from inventory.models import Tree


class Calibration(models.Model):
    """Derived: one fit; the newest one corrects suggestions, never a decided rating. Older ones are kept."""

    APPEND_ONLY = True

    version = models.IntegerField(primary_key=True)
    method = models.TextField()
    method_version = models.IntegerField()
    trees = models.IntegerField()  # dissected trees that it rests on
    dissections = models.JSONField()  # their dissections, by uid
    of_sha256 = models.CharField(max_length=64)  # of all that it was fitted to
    parameters = models.JSONField()
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    fitted_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "calibration"
        ordering = ["-version"]
        constraints = [filled("calibration", "method")]

    def __str__(self) -> str:
        return f"calibration {self.version} by {self.trees} dissected trees"


class SectionCorrection(models.Model):
    """Derived: what a calibration makes of a measured section, both figures with their intervals."""

    APPEND_ONLY = True

    section = models.ForeignKey(Section, on_delete=models.PROTECT, related_name="corrections")
    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="+")
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "section_correction"
        constraints = [
            models.UniqueConstraint(fields=["section", "calibration"], name="section_correction_once"),
        ]

    def __str__(self) -> str:
        return f"{self.section} by calibration {self.calibration_id}"


class ReviewItem(models.Model):
    """Derived: a rating whose suggestion a calibration raises by a category. The rating itself stays as decided."""

    APPEND_ONLY = True

    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="review_items")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="review_items")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="review_items")
    rating = models.ForeignKey(Rating, on_delete=models.PROTECT, related_name="review_items")
    suggested = models.TextField()
    corrected = models.TextField()
    about = models.JSONField(default=dict)

    class Meta:
        db_table = "review_item"
        constraints = [
            filled("review_item", "corrected"),
            models.UniqueConstraint(fields=["calibration", "rating"], name="review_item_once"),
        ]

    def __str__(self) -> str:
        return f"{self.tree}: {self.suggested} -> {self.corrected}"
