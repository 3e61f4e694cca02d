"""The rate card: the one in force and those before it."""

import json

from django.db.models import QuerySet

from assessments.methods import rate_card as methods
from assessments.models import RateCard


def current_rate_card() -> RateCard:
    """The card in force; the shipped one, not stored, before any was adopted."""
    return RateCard.objects.select_related("adopted_by").first() or _shipped()


def _shipped() -> RateCard:
    data = json.loads(methods.default_rate_card_text())
    return RateCard(version=0, data=data, why="the shipped rate card", adopted_at=None)  # type: ignore[misc]


def rate_cards() -> QuerySet[RateCard]:
    """Every version, the newest first."""
    return RateCard.objects.select_related("adopted_by").order_by("-version")
