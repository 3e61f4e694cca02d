"""Short forms for the CHECK constraints that every rule which can be one becomes."""

from collections.abc import Iterable

from django.db.models import CheckConstraint, F, Q


def one_of(table: str, field: str, words: Iterable[str]) -> CheckConstraint:
    """Allow only the given words (NULL passes where the column allows it)."""
    return CheckConstraint(name=f"{table}_{field}_word", condition=Q(**{f"{field}__in": list(words)}))


def between(table: str, field: str, low: float, high: float) -> CheckConstraint:
    """Allow low <= field <= high (NULL passes)."""
    return CheckConstraint(name=f"{table}_{field}_range", condition=Q(**{f"{field}__gte": low, f"{field}__lte": high}))


def ordered(table: str, low: str, high: str) -> CheckConstraint:
    """Require low <= high where both are known."""
    return CheckConstraint(name=f"{table}_{low}_order", condition=Q(**{f"{low}__lte": F(high)}))


def filled(table: str, field: str) -> CheckConstraint:
    """Refuse the empty text."""
    return CheckConstraint(name=f"{table}_{field}_filled", condition=~Q(**{field: ""}))
