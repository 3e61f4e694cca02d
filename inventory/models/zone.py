"""Zones: the districts and maintenance areas by which the work is planned."""

from django.db import models

from inventory.constraints import filled, one_of
from inventory.history import track, versioned
from inventory.models import fields

OCCUPANCIES = ("rare", "occasional", "frequent", "constant")


@track("ZonePast", "zone_past")
class Zone(models.Model):
    """An area of the city. Zones do not overlap in practice; where they do the smallest one wins."""

    code = models.TextField(unique=True)
    name = models.TextField()
    area = fields.area()
    # How often people are there on the whole; a site's own value wins.
    occupancy = models.TextField(choices=[(o, o) for o in OCCUPANCIES], null=True, blank=True)
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "zone"
        triggers = [versioned()]
        ordering = ["code"]
        constraints = [
            filled("zone", "code"),
            filled("zone", "name"),
            one_of("zone", "occupancy", OCCUPANCIES),
        ]

    def __str__(self) -> str:
        return self.name
