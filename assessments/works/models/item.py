"""Order items: one action on one tree."""

from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.functions import RandomUUID
from django.db import models

from assessments.models import Finding
from assessments.works import states
from assessments.works.models.order import WorkOrder
from inventory.constraints import filled, one_of
from inventory.history import track, versioned
from inventory.models import Tree


@track("OrderItemPast", "order_item_past")
class OrderItem(models.Model):
    """Its state follows from its reports and verifications by rule (rules.item_state) and is kept to be asked by."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="items")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="order_items")
    finding = models.ForeignKey(Finding, null=True, on_delete=models.PROTECT, related_name="order_items")
    action = models.TextField(choices=[(a, a) for a in states.ACTIONS])
    reason = models.TextField()
    due_on = models.DateField()
    cautions = ArrayField(models.TextField(), default=list)
    state = models.TextField(choices=[(s, s) for s in states.ITEM_STATES], db_default="open")
    cancelled = models.BooleanField(db_default=False)
    # What the inventory took over from the reported work; empty until it did, so that it does so once.
    effect = models.TextField(blank=True, db_default="")
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
