"""The municipality's rate card, as versioned data: what a job costs by action, size class and access."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from inventory.constraints import filled


class RateCard(models.Model):
    """A version of the card; the newest one is in force. Never edited: a change is a new version."""

    APPEND_ONLY = True

    version = models.IntegerField(primary_key=True)
    data = models.JSONField()
    why = models.TextField()
    adopted_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    adopted_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "rate_card"
        ordering = ["-version"]
        constraints = [filled("rate_card", "why")]

    def __str__(self) -> str:
        return f"rate card {self.version}"
