"""Stem loads: what an inspection says of crown and stem, and what each version of the methods made of it."""

from django.db import models
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import filled as not_empty
from inventory.history import track


@track("StemLoadPast", "stem_load_past")
class StemLoad(models.Model):
    """An append-only fact. `measured` is the request of methods/stem_load as it was sent, without the sections.

    `filled`: what stood in where it said nothing, as known then: `request` (members from the tree and the city's
    policy), `gust_climate` (or null) and `notes` that say so in words.
    """

    uid = models.UUIDField(unique=True)
    inspection = models.OneToOneField(Inspection, on_delete=models.PROTECT, related_name="stem_load")
    measured = models.JSONField()
    filled = models.JSONField()

    class Meta:
        db_table = "stem_load"

    def __str__(self) -> str:
        return f"stem load with {self.inspection}"


class StemLoadResult(models.Model):
    """Derived: what one version of the methods made of a stem load. A newer version adds a row; the old one stays."""

    APPEND_ONLY = True

    stem_load = models.ForeignKey(StemLoad, on_delete=models.PROTECT, related_name="results")
    method = models.TextField()
    version = models.IntegerField()
    rests_on = models.TextField()  # the methods that it rests on, each with its version
    result = models.JSONField()
    computed_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "stem_load_result"
        constraints = [
            models.UniqueConstraint(
                fields=["stem_load", "method", "version", "rests_on"], name="stem_load_result_once"
            ),
            not_empty("stem_load_result", "method"),
        ]

    def __str__(self) -> str:
        return f"{self.stem_load} by {self.method}/{self.version}"
