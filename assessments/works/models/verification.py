"""The municipality's verdicts on reported work."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.works import states
from assessments.works.models.item import OrderItem
from inventory.constraints import one_of
from inventory.history import track


@track("VerificationPast", "verification_past")
class Verification(models.Model):
    """An append-only fact: someone of the municipality looked, and what was decided. It settles work done before it."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    item = models.ForeignKey(OrderItem, on_delete=models.PROTECT, related_name="verifications")
    verdict = models.TextField(choices=[(v, v) for v in states.VERDICTS])
    note = models.TextField(blank=True, db_default="")
    tree_stands = models.BooleanField(db_default=False)
    verified_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    verified_at = models.DateTimeField()
    received_at = models.DateTimeField(db_default=Now())
    state_after = models.TextField()

    class Meta:
        db_table = "verification"
        constraints = [
            one_of("verification", "verdict", states.VERDICTS),
            one_of("verification", "state_after", states.ITEM_STATES),
            models.CheckConstraint(name="verification_stands", condition=Q(tree_stands=False) | Q(verdict="returned")),
            models.CheckConstraint(name="verification_reason", condition=Q(verdict="accepted") | ~Q(note="")),
        ]

    def __str__(self) -> str:
        return f"{self.verdict} at {self.verified_at:%Y-%m-%d}"
