"""Domain events: what happened, as rows, for those to the left who act on news."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now


class Event(models.Model):
    """News of one transaction. `position` is stamped after commit, in order, and is the only cursor to read by."""

    kind = models.TextField()
    subject = models.TextField()
    subject_uid = models.UUIDField(null=True)
    tree = models.ForeignKey("inventory.Tree", null=True, on_delete=models.SET_NULL, related_name="+", db_index=False)
    data = models.JSONField(default=dict)
    actor = models.ForeignKey("people.User", null=True, on_delete=models.PROTECT, related_name="+", db_index=False)
    request = models.TextField(blank=True, db_default="")
    happened_at = models.DateTimeField(db_default=Now())
    position = models.BigIntegerField(null=True, unique=True)

    class Meta:
        db_table = "event"
        indexes = [
            models.Index(fields=["id"], condition=Q(position=None), name="event_unstamped"),
            # Without it, undoing a load asks the whole table once a tree.
            models.Index(fields=["tree"], condition=Q(tree__isnull=False), name="event_tree"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.subject}"
