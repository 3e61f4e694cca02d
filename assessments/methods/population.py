"""Shares of species, genera and families in a population of trees, its diversity, size classes and stocking.

Sources: Santamour 1990 (10/20/30 % rule of thumb), Shannon and Simpson (textbook), Richards 1983 (size classes).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

METHOD: Final = "population_shares"
VERSION: Final = 1

# Santamour 1990, a rule of thumb stated without data: at most so much of one species, genus and family.
SANTAMOUR: Final = {"species": 0.10, "genus": 0.20, "family": 0.30}
# Richards 1983, from memory: shares of street trees by dbh, 8, 16 and 24 in taken as 20, 40 and 60 cm.
SIZE_LIMITS_CM: Final = (20.0, 40.0, 60.0)
RICHARDS: Final = (0.40, 0.30, 0.20, 0.10)


@dataclass(frozen=True)
class Diversity:
    """Diversity of counts: Shannon in nats with its evenness and effective number; Simpson plain and unbiased."""

    total: int
    kinds: int
    shannon_nats: float
    evenness: float | None
    effective: float
    simpson: float
    simpson_unbiased: float | None

    @property
    def inverse_simpson(self) -> float:
        """The inverse of Simpson's concentration, 1 / sum p^2."""
        return 1 / self.simpson


def diversity(counts: Sequence[int]) -> Diversity:
    """Give the diversity of counts by kind. Raises ValueError for a negative count or none at all.

    >>> round(diversity([400, 250, 150, 100, 100]).shannon_nats, 5)
    1.45817
    """
    present = [count for count in counts if count]
    total = sum(present)
    if not total or min(present) < 0:
        raise ValueError("counts: must be 0 or more, and not all 0")
    shares = [count / total for count in present]
    shannon = -sum(share * math.log(share) for share in shares) + 0.0
    unbiased = sum(n * (n - 1) for n in present) / (total * (total - 1)) if total > 1 else None
    return Diversity(
        total,
        len(present),
        shannon,
        shannon / math.log(len(present)) if len(present) > 1 else None,
        math.exp(shannon),
        sum(share**2 for share in shares),
        unbiased,
    )


@dataclass(frozen=True)
class Population:
    """How many trees stand of each species, genus and family, by name; `total` counts also those without a name."""

    total: int
    species: Mapping[str, int]
    genus: Mapping[str, int]
    family: Mapping[str, int]

    def share(self, rank: str, name: str) -> float:
        """Give the share of a species, genus or family (the rank) in all trees; 0 where there are no trees."""
        counts: Mapping[str, int] = {"species": self.species, "genus": self.genus, "family": self.family}[rank]
        return counts.get(name, 0) / self.total if self.total else 0.0

    def exceeding(self, rank: str) -> tuple[str, ...]:
        """Name what exceeds its share of Santamour 1990, largest first; exactly the limit passes."""
        counts: Mapping[str, int] = {"species": self.species, "genus": self.genus, "family": self.family}[rank]
        over = [(count, name) for name, count in counts.items() if self.share(rank, name) > SANTAMOUR[rank]]
        return tuple(name for count, name in sorted(over, key=lambda one: (-one[0], one[1])))


def size_classes(dbh_cm: Sequence[float], limits_cm: Sequence[float] = SIZE_LIMITS_CM) -> tuple[float, ...]:
    """Give the shares of trees in classes of dbh, each from its lower limit on; zeros without a tree.

    >>> size_classes([10, 20, 30, 70])
    (0.25, 0.5, 0.0, 0.25)
    """
    found = [0] * (len(limits_cm) + 1)
    for dbh in dbh_cm:
        found[sum(dbh >= limit for limit in limits_cm)] += 1
    return tuple(count / len(dbh_cm) if dbh_cm else 0.0 for count in found)


def stocking(trees: int, vacant_plantable: int) -> float | None:
    """Give the share of plantable sites that hold a tree; None without a site.

    >>> stocking(850, 150)
    0.85
    """
    sites = trees + vacant_plantable
    return trees / sites if sites else None
