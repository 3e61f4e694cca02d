"""Work orders: what one contractor is asked to do by a day."""

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from assessments.models import Inspection
from assessments.works import states
from inventory.constraints import filled, one_of
from inventory.history import track, versioned
from inventory.people.models import Organisation


@track("WorkOrderPast", "work_order_past")
class WorkOrder(models.Model):
    """Written as a draft, never edited once issued. `changes` is counted up, and with it `version`, whenever the
    order, one of its items or what is known of them changes, so that the version stands for the whole order."""

    uid = models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)
    number = models.TextField(unique=True)
    contractor = models.ForeignKey(Organisation, null=True, on_delete=models.PROTECT, related_name="orders")
    state = models.TextField(choices=[(s, s) for s in states.ORDER_STATES], db_default="draft")
    emergency = models.BooleanField(db_default=False)
    # The inspection that raised an emergency order: at most one order each.
    inspection = models.OneToOneField(Inspection, null=True, on_delete=models.PROTECT, related_name="emergency_order")
    due_on = models.DateField()
    instructions = models.TextField(blank=True, db_default="")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(db_default=Now())
    changed_at = models.DateTimeField(db_default=Now())
    changes = models.IntegerField(db_default=0, editable=False)
    issued_at = models.DateTimeField(null=True)
    accepted_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    cancel_reason = models.TextField(blank=True, db_default="")
    # Whether the duty forester is to be told by mail, and when that was done.
    pages_duty = models.BooleanField(db_default=False)
    paged_at = models.DateTimeField(null=True)
    version = models.IntegerField(db_default=1, editable=False)

    class Meta:
        db_table = "work_order"
        triggers = [versioned()]
        indexes = [
            models.Index(fields=["id"], condition=Q(pages_duty=True, paged_at=None), name="work_order_to_page"),
        ]
        constraints = [
            one_of("work_order", "state", states.ORDER_STATES),
            filled("work_order", "number"),
            models.CheckConstraint(
                name="work_order_contractor",
                condition=Q(state__in=["draft", "cancelled"]) | Q(contractor__isnull=False),
            ),
            models.CheckConstraint(
                name="work_order_issued",
                condition=Q(state="draft", issued_at=None)
                | Q(state="cancelled")
                | Q(state__in=["issued", "accepted", "closed"], issued_at__isnull=False),
            ),
            models.CheckConstraint(name="work_order_closed", condition=Q(state="closed") ^ Q(closed_at__isnull=True)),
            models.CheckConstraint(
                name="work_order_cancelled", condition=Q(state="cancelled") ^ Q(cancelled_at__isnull=True)
            ),
            models.CheckConstraint(
                name="work_order_cancel_reason", condition=~Q(state="cancelled") | ~Q(cancel_reason="")
            ),
            models.CheckConstraint(name="work_order_emergency", condition=Q(inspection=None) | Q(emergency=True)),
        ]

    def __str__(self) -> str:
        return self.number


class OrderCounter(models.Model):
    """The last number given to an order of a year. Its row is locked by the one who takes the next."""

    year = models.SmallIntegerField(primary_key=True)
    last = models.IntegerField()

    class Meta:
        db_table = "order_counter"

    def __str__(self) -> str:
        return f"{self.year}: {self.last}"
