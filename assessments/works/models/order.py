"""Work orders, their items, and the contractor's reports on them."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.models import Finding, Inspection
from assessments.works import states
from inventory.constraints import filled, one_of
from inventory.history import track, versioned
from inventory.models import Tree
from inventory.people.models import Organisation


@track("WorkOrderPast", "work_order_past")
class WorkOrder(models.Model):
    """What one contractor is asked to do. Written as a draft, never edited once issued."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)
    number = models.TextField(unique=True)
    contractor = models.ForeignKey(Organisation, null=True, on_delete=models.PROTECT, related_name="orders")
    state = models.TextField(choices=[(s, s) for s in states.ORDER_STATES], db_default="draft")
    emergency = models.BooleanField(db_default=False)
    # The inspection that raised an emergency order: at most one order each.
    inspection = models.OneToOneField(
        Inspection, null=True, on_delete=models.PROTECT, related_name="emergency_order"
    )
    due_on = models.DateField()
    instructions = models.TextField(blank=True, db_default="")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(db_default=Now())
    issued_at = models.DateTimeField(null=True)
    accepted_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    cancel_reason = models.TextField(blank=True, db_default="")
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "work_order"
        triggers = [versioned()]
        constraints = [
            one_of("work_order", "state", states.ORDER_STATES),
            filled("work_order", "number"),
            models.CheckConstraint(
                name="work_order_contractor",
                condition=Q(state__in=["draft", "cancelled"]) | Q(contractor__isnull=False),
            ),
            models.CheckConstraint(
                name="work_order_cancel_reason", condition=~Q(state="cancelled") | ~Q(cancel_reason="")
            ),
        ]

    def __str__(self) -> str:
        return self.number


@track("OrderItemPast", "order_item_past")
class OrderItem(models.Model):
    """One action on one tree. Its state follows from its reports and verifications by rule."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="items")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="order_items")
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="order_items")
    action = models.TextField(choices=[(a, a) for a in states.ACTIONS])
    reason = models.TextField()
    due_on = models.DateField()
    cautions = models.TextField(blank=True, db_default="")
    state = models.TextField(choices=[(s, s) for s in states.ITEM_STATES], db_default="open")
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "order_item"
        triggers = [versioned()]
        constraints = [
            one_of("order_item", "action", states.ACTIONS),
            one_of("order_item", "state", states.ITEM_STATES),
            filled("order_item", "reason"),
            models.UniqueConstraint(fields=["order", "tree", "action"], name="order_item_once"),
        ]

    def __str__(self) -> str:
        return f"{self.action} of {self.tree}"


@track("ItemReportPast", "item_report_past")
class ItemReport(models.Model):
    """An append-only fact from the contractor: done, or not possible and why. May arrive late, twice, in any order."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    item = models.ForeignKey(OrderItem, on_delete=models.PROTECT, related_name="reports")
    outcome = models.TextField(choices=[(o, o) for o in states.OUTCOMES])
    reason = models.TextField(blank=True, db_default="")
    worked_at = models.DateTimeField()
    stump_ground = models.BooleanField(db_default=False)
    note = models.TextField(blank=True, db_default="")
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "item_report"
        constraints = [
            one_of("item_report", "outcome", states.OUTCOMES),
            models.CheckConstraint(name="item_report_reason", condition=Q(outcome="done") | ~Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"{self.outcome} at {self.worked_at:%Y-%m-%d}"


@track("VerificationPast", "verification_past")
class Verification(models.Model):
    """An append-only fact: the municipality looked at the reported work."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    item = models.ForeignKey(OrderItem, on_delete=models.PROTECT, related_name="verifications")
    accepted = models.BooleanField()
    note = models.TextField(blank=True, db_default="")
    verified_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    verified_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "verification"
        constraints = [
            models.CheckConstraint(name="verification_reason", condition=Q(accepted=True) | ~Q(note="")),
        ]

    def __str__(self) -> str:
        return "accepted" if self.accepted else "returned"
