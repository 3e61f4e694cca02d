"""The wind of the invented city, set in its policy, and the ratings of trees whose stem was checked for it."""

from dataclasses import replace
from datetime import date
from typing import Any, Final

from assessments import queries, services, suggestions
from assessments.records import InspectionRecord, RatingRecord
from inventory.history import Author
from inventory.models import Tree

# Invented, as a real city takes them from its own weather service: gusts of 3 seconds at 10 m in open ground.
WIND: Final[dict[str, Any]] = {
    "check_gust_m_s": 33.0,
    "gust_climate": {"one_year_m_s": 22.0, "fifty_year_m_s": 36.0},
}


def settle(author: Author) -> None:
    """Put the city's wind into the policy in force; a policy that names a wind of its own stays."""
    data = dict(queries.current_policy().data)
    if data.get("wind") is None:
        services.adopt_policy(author, data | {"wind": WIND}, "the gusts of Harrowmere, for the checks of stems in wind")


def as_suggested(tree: Tree, record: InspectionRecord, today: date) -> InspectionRecord:
    """Rate a tree with a stem load as is suggested once that is computed; others stay as they are."""
    if record.stem_load is None:
        return record
    told = services.preview(tree, record, today)
    return replace(record, ratings=tuple(_decided(rating, told) for rating in record.ratings))


def _decided(rating: RatingRecord, told: suggestions.Suggestions) -> RatingRecord:
    suggested = suggestions.for_rating(rating, told)
    return replace(rating, failure=suggested.failure, impact=suggested.impact, why_different="")
