"""The contractor's reports on order items."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.works import states
from assessments.works.models.item import OrderItem
from inventory.constraints import between, one_of
from inventory.history import track
from inventory.models import Species
from inventory.models.support import KINDS as SUPPORT_KINDS


@track("ItemReportPast", "item_report_past")
class ItemReport(models.Model):
    """An append-only fact: done, or not possible and why. May arrive late, twice, in any order."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    item = models.ForeignKey(OrderItem, on_delete=models.PROTECT, related_name="reports")
    outcome = models.TextField(choices=[(o, o) for o in states.OUTCOMES])
    reason = models.TextField(blank=True, db_default="")
    worked_at = models.DateTimeField()
    note = models.TextField(blank=True, db_default="")
    # What some actions must tell: of a felling, a support, a planting.
    stump_ground = models.BooleanField(db_default=False)
    support_kind = models.TextField(null=True, choices=[(k, k) for k in SUPPORT_KINDS])
    support_height_m = models.FloatField(null=True)
    species = models.ForeignKey(Species, null=True, on_delete=models.PROTECT, related_name="+")
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now())
    # Why it could not be taken as it stands (the order was cancelled, the tree was gone); a person decides.
    disputed = models.TextField(blank=True, db_default="")
    # The item's state once this report was in: the answer that its sender gets, for ever.
    state_after = models.TextField()

    class Meta:
        db_table = "item_report"
        constraints = [
            one_of("item_report", "outcome", states.OUTCOMES),
            one_of("item_report", "support_kind", SUPPORT_KINDS),
            one_of("item_report", "state_after", states.ITEM_STATES),
            between("item_report", "support_height_m", 0.1, 100),
            models.CheckConstraint(name="item_report_reason", condition=Q(outcome="done") | ~Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"{self.outcome} at {self.worked_at:%Y-%m-%d}"
