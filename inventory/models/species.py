"""Species and genera, with the names by which a city's file may call them."""

from django.contrib.postgres.indexes import GinIndex
from django.db import models
from django.db.models import Q

from inventory.constraints import between, filled, one_of

RANKS = ("species", "genus", "hybrid")
NAME_KINDS = ("synonym", "common")
WALLING = ("strong", "moderate", "weak", "unknown")
TOLERANCE = ("good", "moderate", "poor", "unknown")


class Species(models.Model):
    """A taxon of the catalogue. Reference data: loaded by `manage.py reference`, never by a migration."""

    botanical_name = models.TextField(unique=True)
    rank = models.TextField(choices=[(r, r) for r in RANKS])
    genus = models.TextField()
    family = models.TextField()
    common_en = models.TextField()
    mature_height_m = models.FloatField(null=True, blank=True)
    mature_crown_m = models.FloatField(null=True, blank=True)
    max_dbh_cm = models.FloatField(null=True, blank=True)
    walls_off_decay = models.TextField(choices=[(w, w) for w in WALLING], db_default="unknown")
    root_tolerance = models.TextField(choices=[(t, t) for t in TOLERANCE], db_default="unknown")
    palm = models.BooleanField(db_default=False)
    evergreen = models.BooleanField(db_default=False)

    class Meta:
        db_table = "species"
        verbose_name_plural = "species"
        ordering = ["botanical_name"]
        constraints = [
            one_of("species", "rank", RANKS),
            one_of("species", "walls_off_decay", WALLING),
            one_of("species", "root_tolerance", TOLERANCE),
            filled("species", "botanical_name"),
            filled("species", "family"),
            between("species", "mature_height_m", 0.5, 130),
            between("species", "max_dbh_cm", 5, 1200),
        ]
        indexes = [
            models.Index(fields=["genus"], name="species_genus"),
            GinIndex(fields=["botanical_name"], opclasses=["gin_trgm_ops"], name="species_name_trgm"),
        ]

    def __str__(self) -> str:
        return self.botanical_name


class SpeciesName(models.Model):
    """Another name of a taxon: a botanical synonym or a common name in a language."""

    species = models.ForeignKey(Species, on_delete=models.CASCADE, related_name="names")
    name = models.TextField()
    language = models.CharField(max_length=8)
    kind = models.TextField(choices=[(k, k) for k in NAME_KINDS])

    class Meta:
        db_table = "species_name"
        constraints = [
            one_of("species_name", "kind", NAME_KINDS),
            filled("species_name", "name"),
            models.UniqueConstraint(fields=["name", "language"], name="species_name_once"),
            models.CheckConstraint(name="species_name_synonym_latin", condition=~Q(kind="synonym") | Q(language="la")),
        ]

    def __str__(self) -> str:
        return self.name
