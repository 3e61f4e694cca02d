"""Targets: what could be struck, how often it is there, how exposed it is."""

from django.db import models
from django.db.models import Q

from assessments.methods import risk
from assessments.models.inspection import Inspection
from inventory.constraints import filled, one_of
from inventory.history import track
from inventory.models.zone import OCCUPANCIES

KINDS = ("people", "vehicles", "building", "utility", "structure", "other")
# A target that stays is always there: its occupancy is constant.
STATIC_KINDS = ("building", "utility", "structure")
PEOPLE_KINDS = ("people", "vehicles")
EXPOSURES = risk.EXPOSURE
FALL_DIRECTIONS = risk.FALL_DIRECTION
ZONES = ("drip_line", "one_height", "one_and_half_heights")


@track("TargetPast", "target_past")
class Target(models.Model):
    """An append-only fact of one inspection."""

    uid = models.UUIDField(unique=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="targets")
    kind = models.TextField(choices=[(v, v) for v in KINDS])
    label = models.TextField()
    occupancy = models.TextField(choices=[(v, v) for v in OCCUPANCIES])
    exposure = models.TextField(choices=[(v, v) for v in EXPOSURES])
    fall_direction = models.TextField(choices=[(v, v) for v in FALL_DIRECTIONS], db_default="unknown")
    zone = models.TextField(null=True, choices=[(v, v) for v in ZONES])
    movable = models.BooleanField(db_default=False)
    restrictable = models.BooleanField(db_default=False)

    class Meta:
        db_table = "target"
        constraints = [
            one_of("target", "kind", KINDS),
            one_of("target", "occupancy", OCCUPANCIES),
            one_of("target", "exposure", EXPOSURES),
            one_of("target", "fall_direction", FALL_DIRECTIONS),
            one_of("target", "zone", ZONES),
            filled("target", "label"),
            models.CheckConstraint(
                name="target_static_constant",
                condition=~Q(kind__in=STATIC_KINDS) | Q(occupancy="constant"),
            ),
        ]

    def __str__(self) -> str:
        return self.label
