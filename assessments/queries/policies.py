"""The policy: the one in force and those before it."""

import json
from collections.abc import Iterable

from django.db.models import QuerySet

from assessments.methods import policy as methods
from assessments.models import Policy


def current_policy() -> Policy:
    """The policy in force; the shipped one, not stored, before any was adopted."""
    return Policy.objects.select_related("adopted_by").first() or _shipped()


def _shipped() -> Policy:
    return Policy(version=0, data=json.loads(methods.default_policy_text()), why="the shipped policy", adopted_at=None)  # type: ignore[misc]


def policy_in_force() -> methods.Policy:
    """The policy in force as the methods take it."""
    return methods.Policy.from_data(current_policy().data)


def policies() -> QuerySet[Policy]:
    """Every version, the newest first."""
    return Policy.objects.select_related("adopted_by").order_by("-version")


def read(versions: Iterable[int]) -> dict[int, methods.Policy]:
    """Some versions as the methods take them; one statement for any number."""
    wanted = set(versions)
    found = {row.version: row for row in Policy.objects.filter(pk__in=wanted)}
    return {number: methods.Policy.from_data((found.get(number) or _shipped()).data) for number in wanted}
