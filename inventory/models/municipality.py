"""The one municipality of this database."""

from django.db import models
from django.db.models import Q

from inventory.constraints import filled
from inventory.people.models import Organisation


class Municipality(models.Model):
    """One row: what is fixed for the whole city. `metric_srid` is checked against the settings at start."""

    id = models.SmallIntegerField(primary_key=True, default=1, db_default=1)
    name = models.TextField()
    metric_srid = models.IntegerField()
    time_zone = models.TextField()
    currency = models.CharField(max_length=3)
    language = models.CharField(max_length=8)
    emergency_phone = models.TextField()
    duty_email = models.EmailField(blank=True, db_default="")
    emergency_contractor = models.ForeignKey(
        Organisation, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        db_table = "municipality"
        verbose_name_plural = "municipality"
        constraints = [
            models.CheckConstraint(name="municipality_one_row", condition=Q(id=1)),
            filled("municipality", "name"),
            filled("municipality", "emergency_phone"),
        ]

    def __str__(self) -> str:
        return self.name
