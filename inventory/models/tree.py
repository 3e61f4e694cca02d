"""Trees: each row is one life at one place."""

from django.contrib.postgres.indexes import GistIndex
from django.db import models
from django.db.models import F, Q

from inventory.constraints import between, one_of, ordered
from inventory.history import track, versioned
from inventory.models import fields
from inventory.models.intake_load import IntakeLoad
from inventory.models.site import Site
from inventory.models.species import Species
from inventory.models.zone import Zone

STATES = ("alive", "dead", "stump", "removed")
# A tree is standing while someone may be under it.
STANDING = ("alive", "dead")


@track("TreePast", "tree_past")
class Tree(models.Model):
    """One tree. Its size columns repeat its newest measurement and are written only with one."""

    uid = fields.uid()
    tag = models.TextField(null=True, blank=True)
    external_key = models.TextField(null=True, blank=True)
    site = models.ForeignKey(Site, null=True, blank=True, on_delete=models.PROTECT, related_name="trees")
    species = models.ForeignKey(Species, null=True, blank=True, on_delete=models.PROTECT, related_name="trees")
    species_text = models.TextField(blank=True, db_default="")
    location = fields.location()
    location_m = fields.location_m()
    zone = models.ForeignKey(Zone, null=True, blank=True, on_delete=models.PROTECT, related_name="trees")
    planted_from = models.DateField(null=True, blank=True)
    planted_to = models.DateField(null=True, blank=True)
    state = models.TextField(choices=[(s, s) for s in STATES], db_default="alive")
    removed_on = models.DateField(null=True, blank=True)
    removal_reason = models.TextField(blank=True, db_default="")
    # The newest measurement's size; a class such as 13-18 in stays an interval (low, high) with no value.
    dbh_cm = models.FloatField(null=True, editable=False)
    dbh_low_cm = models.FloatField(null=True, editable=False)
    dbh_high_cm = models.FloatField(null=True, editable=False)
    height_m = models.FloatField(null=True, editable=False)
    crown_m = models.FloatField(null=True, editable=False)
    note = models.TextField(blank=True, db_default="")
    intake_load = models.ForeignKey(
        IntakeLoad, null=True, blank=True, editable=False, on_delete=models.PROTECT, related_name="trees"
    )
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "tree"
        triggers = [versioned("location_m")]
        # Django makes no index of its own for a generated point.
        indexes = [GistIndex(fields=["location_m"], name="tree_location_m")]
        constraints = [
            models.UniqueConstraint(fields=["tag"], name="tree_tag_once"),
            models.UniqueConstraint(fields=["external_key"], name="tree_external_key_once"),
            one_of("tree", "state", STATES),
            models.CheckConstraint(
                name="tree_removed_on_state",
                condition=Q(state__in=["stump", "removed"]) ^ Q(removed_on__isnull=True),
            ),
            ordered("tree", "planted_from", "planted_to"),
            models.CheckConstraint(
                name="tree_planted_both",
                condition=Q(planted_from__isnull=True, planted_to__isnull=True)
                | Q(planted_from__isnull=False, planted_to__isnull=False),
            ),
            models.CheckConstraint(
                name="tree_planted_before_removed",
                condition=Q(removed_on=None) | Q(planted_from=None) | Q(planted_from__lte=F("removed_on")),
            ),
            models.CheckConstraint(name="tree_tag_filled", condition=~Q(tag="")),
            models.CheckConstraint(name="tree_external_key_filled", condition=~Q(external_key="")),
            between("tree", "dbh_cm", 0.1, 1500),
            between("tree", "height_m", 0.1, 130),
            models.UniqueConstraint(
                fields=["site"], condition=Q(state__in=["alive", "dead"]), name="tree_one_standing_a_site"
            ),
        ]

    def __str__(self) -> str:
        return self.tag or self.external_key or f"tree {self.pk}"
