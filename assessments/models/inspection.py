"""Inspections: one look at one tree by one person, with what was seen of the whole tree."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from inventory.constraints import between, one_of
from inventory.history import track
from inventory.models import Tree

LEVELS = ("limited_visual", "basic", "advanced")
TRIGGERS = ("routine", "request", "storm", "project", "follow_up", "emergency", "other")
SHOOT_GROWTH = ("none", "low", "normal", "high")
RESPONSE_GROWTH = ("none", "some", "good")
WIND_EXPOSURE = ("protected", "partial", "full", "funnelled")
WIND_CHANGE = ("none", "neighbour_removed", "building_removed", "building_added", "crown_reduced", "other")
ROOT_ZONE_CHANGE = ("none", "excavation", "fill", "compaction", "paving", "flooding", "drought", "other")
PAST_FAILURE = ("none", "branch", "limb", "stem", "root", "unknown")
PAST_PRUNING = ("none", "cleaning", "raising", "reduction", "thinning", "topping", "lion_tailing", "unknown")
EMERGENCY_CAUSES = ("declared", "imminent_failure", "extreme_risk")


@track("InspectionPast", "inspection_past")
class Inspection(models.Model):
    """An append-only fact, made where the tree stands, perhaps without a network. A rating is for `frame_years`."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="inspections")
    inspector = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="inspections"
    )
    inspected_at = models.DateTimeField()
    inspected_on = models.DateField()  # the municipal date of inspected_at
    level = models.TextField(choices=[(v, v) for v in LEVELS])
    trigger = models.TextField(choices=[(v, v) for v in TRIGGERS])
    limits = models.TextField(blank=True, db_default="")
    # Stated if and only if the inspection has ratings: a rating without its time frame says nothing.
    frame_years = models.SmallIntegerField(null=True)
    crown_density_percent = models.FloatField(null=True)
    dieback_percent = models.FloatField(null=True)
    shoot_growth = models.TextField(null=True, choices=[(v, v) for v in SHOOT_GROWTH])
    response_growth = models.TextField(null=True, choices=[(v, v) for v in RESPONSE_GROWTH])
    wind_exposure = models.TextField(null=True, choices=[(v, v) for v in WIND_EXPOSURE])
    wind_change = models.TextField(null=True, choices=[(v, v) for v in WIND_CHANGE])
    root_zone_change = models.TextField(null=True, choices=[(v, v) for v in ROOT_ZONE_CHANGE])
    past_failure = models.TextField(null=True, choices=[(v, v) for v in PAST_FAILURE])
    past_pruning = models.TextField(null=True, choices=[(v, v) for v in PAST_PRUNING])
    note = models.TextField(blank=True, db_default="")
    # Raised by the inspector, by an imminent failure over a target, or by extreme risk; empty: no emergency.
    emergency = models.TextField(blank=True, db_default="", choices=[(v, v) for v in EMERGENCY_CAUSES])
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "inspection"
        # Equal instants are told apart by uid, so that the newest one does not depend on the order of arrival.
        indexes = [models.Index(fields=["tree", "-inspected_at", "-uid"], name="inspection_newest")]
        constraints = [
            one_of("inspection", "level", LEVELS),
            one_of("inspection", "trigger", TRIGGERS),
            one_of("inspection", "shoot_growth", SHOOT_GROWTH),
            one_of("inspection", "response_growth", RESPONSE_GROWTH),
            one_of("inspection", "wind_exposure", WIND_EXPOSURE),
            one_of("inspection", "wind_change", WIND_CHANGE),
            one_of("inspection", "root_zone_change", ROOT_ZONE_CHANGE),
            one_of("inspection", "past_failure", PAST_FAILURE),
            one_of("inspection", "past_pruning", PAST_PRUNING),
            between("inspection", "frame_years", 1, 5),
            between("inspection", "crown_density_percent", 0, 100),
            between("inspection", "dieback_percent", 0, 100),
            one_of("inspection", "emergency", ("", *EMERGENCY_CAUSES)),
        ]

    def __str__(self) -> str:
        return f"{self.level} inspection of {self.tree} on {self.inspected_on}"
