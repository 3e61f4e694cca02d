"""What the interface takes and shows of orders, items, reports and verdicts."""

from typing import Any, Final

from rest_framework import serializers

from api.http import fields
from api.rest.shapes import Choice, TreeSite, TreeSpecies
from assessments.works import rules, states
from assessments.works.models import OrderItem, WorkOrder
from inventory.models.support import KINDS as SUPPORT_KINDS
from inventory.models.tree import STATES as TREE_STATES


class ItemBody(fields.Body):
    """One action on one tree."""

    tree = fields.Uid()
    action = fields.Word(choices=list(states.ACTIONS))
    reason = fields.Text(required=False, allow_blank=True, default="", help_text="Left out: from the tree's priority.")
    due_on = fields.Day(required=False, allow_null=True, default=None, help_text="Left out: as the order.")
    finding = fields.Uid(required=False, allow_null=True, default=None, help_text="The finding that it answers to.")


class ItemsBody(fields.Body):
    """Items to add to a draft."""

    items = fields.Array(child=ItemBody(), min_length=1, max_length=rules.MAX_ITEMS)


class OrderBody(ItemsBody):
    """A new order."""

    due_on = fields.Day()
    contractor = fields.Whole(required=False, allow_null=True, default=None, help_text="The organisation's id.")
    instructions = fields.Text(required=False, allow_blank=True, default="", max_length=5000)


class IssueBody(fields.Body):
    """To whom a draft goes, where it does not say so yet."""

    contractor = fields.Whole(required=False, allow_null=True, default=None, help_text="The organisation's id.")


class CancelBody(fields.Body):
    """Why an order is cancelled."""

    reason = fields.Text()


class NothingBody(fields.Body):
    """Nothing more to say: `{}`."""


class ReportBody(fields.Body):
    """What was done, or why it was not possible."""

    uid = fields.Uid(help_text="Made by the client: the same uid and content give the same answer for ever.")
    outcome = fields.Word(choices=states.OUTCOMES)
    worked_at = fields.Instant(help_text="When the work was done or tried.")
    reason = fields.Text(required=False, allow_blank=True, default="", help_text="Required where it was not possible.")
    note = fields.Text(required=False, allow_blank=True, default="")
    stump_ground = fields.Flag(required=False, default=False, help_text="Of `remove`: the stump is ground out too.")
    support_kind = fields.Word(choices=SUPPORT_KINDS, required=False, allow_null=True, default=None)
    support_height_m = fields.Number(required=False, allow_null=True, default=None, min_value=0.1, max_value=100)
    species = fields.Text(
        required=False, allow_null=True, default=None, max_length=200, help_text="Of `plant`: the botanical name."
    )


class VerdictBody(fields.Body):
    """What the municipality decides of reported work."""

    uid = fields.Uid(help_text="Made by the client: the same uid and content give the same answer for ever.")
    verdict = fields.Word(choices=states.VERDICTS)
    note = fields.Text(required=False, allow_blank=True, default="", help_text="Required unless accepted.")
    verified_at = fields.Instant(required=False, allow_null=True, default=None, help_text="Left out: now.")
    tree_stands = fields.Flag(
        required=False, default=False, help_text="Of a returned felling: the tree was not felled and stands."
    )


class Contractor(serializers.Serializer[Any]):
    """The organisation that an order goes to."""

    id = serializers.IntegerField()
    name = serializers.CharField()


class Report(serializers.Serializer[Any]):
    """A report as it was taken in. `state_after` is the item's state once it was in."""

    uid = serializers.UUIDField()
    outcome = Choice(states.OUTCOMES)
    worked_at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    stump_ground = serializers.BooleanField()
    support_kind = Choice(SUPPORT_KINDS, allow_null=True)
    support_height_m = serializers.FloatField(allow_null=True)
    species = serializers.CharField(source="species.botanical_name", default=None, allow_null=True)
    received_at = serializers.DateTimeField()
    disputed = serializers.CharField(allow_blank=True, help_text="Why a person must decide; empty: nothing disputed.")
    state_after = Choice(states.ITEM_STATES)


class Verdict(serializers.Serializer[Any]):
    """A verdict as it was taken in."""

    uid = serializers.UUIDField()
    verdict = Choice(states.VERDICTS)
    note = serializers.CharField(allow_blank=True)
    tree_stands = serializers.BooleanField()
    verified_at = serializers.DateTimeField()
    received_at = serializers.DateTimeField()
    state_after = Choice(states.ITEM_STATES)


class ItemTree(serializers.Serializer[Any]):
    """The tree of an item, as far as the crew needs it."""

    uid = serializers.UUIDField()
    tag = serializers.CharField(allow_null=True)
    species = TreeSpecies(allow_null=True)
    location = fields.Geometry(("Point",))
    site = TreeSite(allow_null=True)
    zone = serializers.CharField(source="zone.code", default=None, allow_null=True)
    dbh_cm = serializers.FloatField(allow_null=True)
    height_m = serializers.FloatField(allow_null=True)
    crown_m = serializers.FloatField(allow_null=True)
    state = Choice(TREE_STATES)


class Item(serializers.Serializer[OrderItem]):
    """One action on one tree, with its reports and verdicts."""

    uid = serializers.UUIDField()
    tree = ItemTree()
    action = Choice(states.ACTIONS)
    reason = serializers.CharField()
    finding = serializers.UUIDField(source="finding.uid", default=None, allow_null=True)
    due_on = serializers.DateField()
    cautions = serializers.ListField(child=serializers.CharField())
    state = Choice(states.ITEM_STATES)
    effect = serializers.CharField(allow_blank=True, help_text="What the inventory took over.")
    reports = Report(many=True)
    verifications = Verdict(many=True)


class Order(serializers.Serializer[WorkOrder]):
    """An order in a list. The counts are of its items."""

    uid = serializers.UUIDField()
    number = serializers.CharField()
    state = Choice(states.ORDER_STATES)
    emergency = serializers.BooleanField()
    contractor = Contractor(allow_null=True)
    due_on = serializers.DateField()
    instructions = serializers.CharField(allow_blank=True)
    made_at = serializers.DateTimeField()
    issued_at = serializers.DateTimeField(allow_null=True)
    accepted_at = serializers.DateTimeField(allow_null=True)
    closed_at = serializers.DateTimeField(allow_null=True)
    cancelled_at = serializers.DateTimeField(allow_null=True)
    cancel_reason = serializers.CharField(allow_blank=True)
    item_count = serializers.IntegerField()
    settled_count = serializers.IntegerField()
    to_verify_count = serializers.IntegerField()
    version = serializers.IntegerField()


class OrderFull(Order):
    """An order with its items, and the caution that holds for all of them."""

    caution = serializers.SerializerMethodField()
    items = serializers.SerializerMethodField()

    def get_caution(self, order: WorkOrder) -> str:
        """The caution, once."""
        return states.CAUTION

    def get_items(self, order: WorkOrder) -> list[dict[str, Any]]:
        """The items, read with the order."""
        return list(Item(self.context["items"], many=True).data)


FORMATS: Final = ("csv", "geojson")
