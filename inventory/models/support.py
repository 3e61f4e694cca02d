"""Supports in a tree: cables, braces, props."""

from django.db import models
from django.db.models import F, Q

from inventory.constraints import between, one_of
from inventory.history import track
from inventory.models import fields
from inventory.models.tree import Tree

KINDS = ("cable", "brace_rod", "prop", "guy")


@track("SupportPast", "support_past")
class Support(models.Model):
    """A cable, brace rod, prop or guy from the day it was installed to the day it was removed."""

    uid = fields.uid()
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="supports")
    kind = models.TextField(choices=[(k, k) for k in KINDS])
    height_m = models.FloatField()
    installed_on = models.DateField()
    removed_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True, db_default="")

    class Meta:
        db_table = "support"
        constraints = [
            one_of("support", "kind", KINDS),
            between("support", "height_m", 0.1, 100),
            models.CheckConstraint(
                name="support_dates", condition=Q(removed_on=None) | Q(removed_on__gte=F("installed_on"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.height_m} m"
