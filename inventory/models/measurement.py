"""Measurements of a tree: who, when, how, and how large."""

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import between, one_of, ordered
from inventory.history import track
from inventory.models import fields
from inventory.models.intake_load import IntakeLoad
from inventory.models.tree import Tree

METHODS = ("tape", "caliper", "clinometer", "laser", "estimate", "size_class", "city_file")


@track("MeasurementPast", "measurement_past")
class Measurement(models.Model):
    """An append-only fact. `dbh_cm` is over bark at `dbh_height_m`; of several stems the quadratic sum."""

    uid = fields.uid()
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="measurements")
    measured_on = models.DateField()
    measured_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    method = models.TextField(choices=[(m, m) for m in METHODS])
    stems_cm = ArrayField(models.FloatField(), null=True, blank=True)
    dbh_cm = models.FloatField(null=True, blank=True)
    dbh_low_cm = models.FloatField(null=True, blank=True)
    dbh_high_cm = models.FloatField(null=True, blank=True)
    dbh_height_m = models.FloatField(db_default=1.37)
    height_m = models.FloatField(null=True, blank=True)
    height_low_m = models.FloatField(null=True, blank=True)
    height_high_m = models.FloatField(null=True, blank=True)
    crown_m = models.FloatField(null=True, blank=True)
    crown_base_m = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True, db_default="")
    intake_load = models.ForeignKey(
        IntakeLoad, null=True, blank=True, editable=False, on_delete=models.PROTECT, related_name="+"
    )
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "measurement"
        indexes = [
            models.Index(fields=["tree", "-measured_on", "-id"], name="measurement_newest"),
        ]
        constraints = [
            one_of("measurement", "method", METHODS),
            between("measurement", "dbh_cm", 0.1, 1500),
            between("measurement", "dbh_low_cm", 0, 1500),
            between("measurement", "dbh_high_cm", 0.1, 1500),
            between("measurement", "dbh_height_m", 0.1, 2),
            between("measurement", "height_m", 0.1, 130),
            between("measurement", "crown_m", 0.1, 80),
            ordered("measurement", "dbh_low_cm", "dbh_high_cm"),
            ordered("measurement", "height_low_m", "height_high_m"),
            ordered("measurement", "crown_base_m", "height_m"),
            models.CheckConstraint(
                name="measurement_something",
                condition=Q(dbh_cm__isnull=False)
                | Q(dbh_low_cm__isnull=False)
                | Q(height_m__isnull=False)
                | Q(height_low_m__isnull=False)
                | Q(crown_m__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree} on {self.measured_on}"
