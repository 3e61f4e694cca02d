"""What a person settled about a species text of a city's files, once for all trees and later files."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import filled, one_of
from inventory.history import track, versioned
from inventory.models import fields
from inventory.models.species import Species

# A taxon; none of the catalogue, so the text alone is kept; or no tree at all.
OUTCOMES = ("species", "text", "no_tree")


@track("SpeciesSettlementPast", "species_settlement_past")
class SpeciesSettlement(models.Model):
    """What one distinct text means. Settling it anew changes the row; its history keeps what was said before."""

    uid = fields.uid()
    # The text without case, accents and signs: see inventory.intake.folding.settled_key.
    key = models.TextField(unique=True)
    text = models.TextField()
    outcome = models.TextField(choices=[(o, o) for o in OUTCOMES])
    species = models.ForeignKey(Species, null=True, blank=True, on_delete=models.PROTECT, related_name="settlements")
    why = models.TextField(blank=True, db_default="")
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    settled_at = models.DateTimeField(db_default=Now())
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "species_settlement"
        triggers = [versioned()]
        ordering = ["key"]
        constraints = [
            filled("species_settlement", "key"),
            filled("species_settlement", "text"),
            one_of("species_settlement", "outcome", OUTCOMES),
            models.CheckConstraint(
                name="species_settlement_species",
                condition=Q(outcome="species") ^ Q(species__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.text}: {self.species or self.outcome}"
