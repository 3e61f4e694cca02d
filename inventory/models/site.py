"""Sites: the places where a tree can stand."""

from django.db import models
from django.db.models import Q

from inventory.constraints import between, one_of
from inventory.history import track, versioned
from inventory.models import fields
from inventory.models.intake_load import IntakeLoad
from inventory.models.zone import OCCUPANCIES, Zone

STATES = ("planted", "vacant", "unplantable")
GROWING_SPACES = ("cutout", "strip", "lawn", "planter", "park", "natural", "other", "unknown")
OVERHEAD_LINES = ("none", "communication", "low_voltage", "high_voltage", "unknown")


@track("SitePast", "site_past")
class Site(models.Model):
    """A place for one tree at a time; it outlives its trees."""

    uid = fields.uid()
    external_key = models.TextField(null=True, blank=True)
    location = fields.location()
    location_m = fields.location_m(spatial_index=False)
    zone = models.ForeignKey(Zone, null=True, blank=True, on_delete=models.PROTECT, related_name="sites")
    street = models.TextField(blank=True, db_default="")
    house_number = models.TextField(blank=True, db_default="")
    place = models.TextField(blank=True, db_default="")
    growing_space = models.TextField(choices=[(g, g) for g in GROWING_SPACES], db_default="unknown")
    strip_width_m = models.FloatField(null=True, blank=True)
    overhead_lines = models.TextField(choices=[(o, o) for o in OVERHEAD_LINES], db_default="unknown")
    occupancy = models.TextField(choices=[(o, o) for o in OCCUPANCIES], null=True, blank=True)
    state = models.TextField(choices=[(s, s) for s in STATES], db_default="vacant")
    intake_load = models.ForeignKey(
        IntakeLoad, null=True, blank=True, editable=False, on_delete=models.PROTECT, related_name="sites"
    )
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "site"
        triggers = [versioned("location_m")]
        constraints = [
            models.UniqueConstraint(fields=["external_key"], name="site_external_key_once"),
            one_of("site", "growing_space", GROWING_SPACES),
            one_of("site", "overhead_lines", OVERHEAD_LINES),
            one_of("site", "occupancy", OCCUPANCIES),
            one_of("site", "state", STATES),
            between("site", "strip_width_m", 0, 200),
            models.CheckConstraint(name="site_external_key_filled", condition=~Q(external_key="")),
        ]

    def __str__(self) -> str:
        return f"{self.street} {self.house_number}".strip() or f"site {self.pk}"
