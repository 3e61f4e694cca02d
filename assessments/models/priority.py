"""Priority: one derived row a tree, its changes of class and date, and the marks that ask for a recompute."""

from django.db import models
from django.db.models.functions import Now

from inventory.constraints import one_of
from inventory.models import Tree


class Priority(models.Model):
    """Derived by restate() alone; nothing in it changes by the clock. Codes as in methods/risk.py and priority.py.

    No index but the primary key and fillfactor 45 (set by the migration), so that every update stays HOT. No
    foreign key in the database: a pass takes away the rows of trees that no longer stand.
    """

    tree = models.OneToOneField(
        Tree, primary_key=True, on_delete=models.DO_NOTHING, db_constraint=False, related_name="priority"
    )
    risk = models.SmallIntegerField()  # 0 never rated, 1 low .. 4 extreme
    harm = models.FloatField()
    act_by = models.DateField(null=True)
    inspect_by = models.DateField(null=True)
    by_interval = models.DateField(null=True)
    by_decay = models.DateField(null=True)
    by_establishment = models.DateField(null=True)
    by_check = models.DateField(null=True)
    by_decay_growth = models.DateField(null=True)
    rule = models.SmallIntegerField()
    last_seen = models.DateField(null=True)
    planted = models.DateField(null=True)
    unseen_weight = models.FloatField()
    policy_version = models.IntegerField()
    method_version = models.IntegerField()

    class Meta:
        db_table = "priority"
        verbose_name_plural = "priorities"

    def __str__(self) -> str:
        return f"priority of tree {self.tree_id}"


class PriorityChange(models.Model):
    """A change of a tree's risk class or due dates, in order, as recompute found it."""

    APPEND_ONLY = True

    # Without a foreign key in the database: a pass may write a million of them at once.
    tree = models.ForeignKey(Tree, on_delete=models.DO_NOTHING, db_constraint=False, related_name="priority_changes")
    changed_at = models.DateTimeField(db_default=Now())
    risk_before = models.SmallIntegerField(null=True)
    risk = models.SmallIntegerField()
    act_by_before = models.DateField(null=True)
    act_by = models.DateField(null=True)
    inspect_by_before = models.DateField(null=True)
    inspect_by = models.DateField(null=True)

    class Meta:
        db_table = "priority_change"

    def __str__(self) -> str:
        return f"tree {self.tree_id}: {self.risk_before} -> {self.risk}"


MARK_SCOPES = ("tree", "zone", "all")


class Mark(models.Model):
    """Asks for a recompute of a tree, a zone or all trees. A pass deletes only the marks that it saw."""

    scope = models.TextField()
    subject = models.BigIntegerField(null=True)
    marked_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "mark"
        constraints = [
            one_of("mark", "scope", MARK_SCOPES),
            models.CheckConstraint(
                name="mark_subject",
                condition=models.Q(scope="all") ^ models.Q(subject__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.scope} {self.subject or ''}"
