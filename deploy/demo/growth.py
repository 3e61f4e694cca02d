"""How large a tree of an age is: simple saturating curves with a scatter of its own, for invented trees only."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from deploy.demo.dice import dice
from inventory.catalogue import SpeciesRow

# How much of a free-standing tree's size the place allows (invented, rising with the room for roots).
ROOM: Final[Mapping[str, float]] = {
    "green": 1.0, "ring": 0.92, "embankment": 0.85, "avenue": 0.84, "garden": 0.74, "square": 0.66, "quay": 0.66,
    "residential": 0.62, "grid": 0.58, "lane": 0.52,
}  # fmt: skip
_QUICK: Final = frozenset(
    {"Populus", "Salix", "Platanus", "Alnus", "Robinia", "Ailanthus", "Metasequoia", "Liriodendron"}
)
_SLOW: Final = frozenset({"Taxus", "Quercus", "Fagus", "Ginkgo", "Carpinus", "Cedrus"})
_LARGEST_CM: Final = 125.0


@dataclass(frozen=True)
class Habit:
    """The curve of one tree: the sizes it tends to, its pace, and how it differs from the rest."""

    dbh_cm: float
    height_m: float
    crown_m: float
    pace: float
    start_cm: float
    most_cm: float


@dataclass(frozen=True)
class Body:
    """Sizes at one age: dbh in cm, height and crown width in m."""

    dbh_cm: float
    height_m: float
    crown_m: float


def habit(species: SpeciesRow, kind: str, pruned_for_lines: bool, *about: object) -> Habit:
    """Give the curve of a tree of a species in a kind of place."""
    throw, room = dice("habit", *about), ROOM[kind]
    pace = 0.030 if species.genus in _QUICK else 0.015 if species.genus in _SLOW else 0.021
    largest = min(0.55 * species.max_dbh_cm, _LARGEST_CM) * room
    return Habit(
        dbh_cm=max(10.0, largest * math.exp(throw.gauss(0, 0.15))),
        height_m=species.mature_height_m
        * (0.55 + 0.4 * room)
        * throw.uniform(0.86, 1.05)
        * (0.7 if pruned_for_lines else 1),
        crown_m=species.mature_crown_m * (0.5 + 0.42 * room) * throw.uniform(0.84, 1.08),
        pace=pace * throw.uniform(0.85, 1.15),
        start_cm=throw.uniform(3.6, 6.4),
        most_cm=0.92 * species.max_dbh_cm,
    )


def body(grown: Habit, age_years: float) -> Body:
    """Give the sizes at an age."""
    share = (1 - math.exp(-grown.pace * max(age_years, 0.0))) ** 1.25
    dbh = min(grown.start_cm + max(grown.dbh_cm - grown.start_cm, 1.0) * share, grown.most_cm)
    full = 1 - math.exp(-2.9 * dbh / max(grown.dbh_cm, 1.0))
    height = 1.9 + max(grown.height_m - 1.9, 0.4) * full
    crown = 0.9 + max(grown.crown_m - 0.9, 0.3) * (1 - math.exp(-2.4 * dbh / max(grown.dbh_cm, 1.0)))
    return Body(_like_a_tape(dbh), round(height * 2) / 2, round(crown * 2) / 2)


def _like_a_tape(dbh_cm: float) -> float:
    """Round as people read a tape: whole centimetres, half ones of thin stems."""
    return float(round(dbh_cm)) if dbh_cm >= 15 else round(dbh_cm * 2) / 2
