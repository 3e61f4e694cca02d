"""The municipality's policy, as versioned data: intervals, act-by days, establishment visits."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from inventory.constraints import filled


class Policy(models.Model):
    """A version of the policy; the newest one is in force. Never edited: a change is a new version."""

    APPEND_ONLY = True

    version = models.IntegerField(primary_key=True)
    data = models.JSONField()
    why = models.TextField()
    adopted_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    adopted_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "policy"
        verbose_name_plural = "policies"
        ordering = ["-version"]
        constraints = [filled("policy", "why")]

    def __str__(self) -> str:
        return f"policy {self.version}"
