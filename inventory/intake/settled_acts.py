"""Tells the acts of settling apart from what a person did to a single tree: they speak of texts, not of trees."""

import uuid
from typing import Final

from pghistory.models import Context

WHY: Final = "species settled: "
"""How the reason of every such act begins."""


def settled_acts() -> list[uuid.UUID]:
    """The acts that settled a species text."""
    return list(Context.objects.filter(metadata__why__startswith=WHY).values_list("pk", flat=True))
