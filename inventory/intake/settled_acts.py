"""Tells the acts of settling apart from what a person did to a single tree: they speak of texts, not of trees."""

import uuid
from typing import Final

from pghistory.models import Context

MARK: Final = "species settled"
"""The mark of every such act. The reason would not do: that of an edit is anything that a person writes."""


def settled_acts() -> list[uuid.UUID]:
    """The acts that settled a species text."""
    return list(Context.objects.filter(metadata__mark=MARK).values_list("pk", flat=True))
