"""What was done on the spot in an emergency: closed, when, who was told."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import filled
from inventory.history import track


@track("EmergencyActionPast", "emergency_action_past")
class EmergencyAction(models.Model):
    """An append-only fact: the first one may come with the inspection, later ones complete it and never replace it."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="emergency_actions")
    done_on_spot = models.TextField(blank=True, db_default="")
    closed_at = models.DateTimeField(null=True)
    told_whom = models.TextField(blank=True, db_default="")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "emergency_action"
        constraints = [
            models.CheckConstraint(
                name="emergency_action_something",
                condition=~models.Q(done_on_spot="", closed_at=None, told_whom=""),
            ),
            filled("emergency_action", "content_sha256"),
        ]

    def __str__(self) -> str:
        return f"done at the emergency of {self.inspection}"
