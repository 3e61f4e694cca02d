"""What two size columns of the same rows tell of each other: a constant factor is evidence for both, or against one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.intake.cells import number
from inventory.intake.profile import Profile
from inventory.intake.roles import SIZES
from inventory.intake.sizes import Relation, relations
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# How much of the circle each role of a stem is, beside the diameter.
TURNS = {"dbh": 1.0, "girth": math.pi, "radius": 0.5}
STEM = tuple(TURNS)
# More columns of sizes than this no inventory has; every pair of them is looked at.
MOST = 12


@dataclass(frozen=True)
class Conflict:
    """Two columns of stems whose constant factor is that of no pair of units: one of the headings is wrong."""

    relation: Relation
    words: str
    opinions_of: dict[str, list[Opinion]]


def relate(
    profiles: Sequence[Profile], columns: Sequence[list[str]], opinions_of: dict[str, list[Opinion]]
) -> list[Conflict]:
    """Add to the opinions what constant factors tell; return where headings conflict. Changes `opinions_of`."""
    sized = [
        (profile.heading, _values(profile, column))
        for profile, column in zip(profiles, columns, strict=True)
        if any(opinion.role in SIZES for opinion in opinions_of[profile.heading]) and profile.numeric > 0.8
    ]
    conflicts = []
    del sized[MOST:]
    for relation in relations([heading for heading, _ in sized], [values for _, values in sized]):
        conflicts += _told(relation, opinions_of)
    return conflicts


def _values(profile: Profile, column: list[str]) -> Floats:
    found = np.array([number(cell, profile.decimal) for cell in column], float)
    found[np.isinf(found)] = np.nan
    return found


def _told(relation: Relation, opinions_of: dict[str, list[Opinion]]) -> list[Conflict]:
    one, other = (stem(opinions_of[heading]) for heading in (relation.one, relation.other))
    words = f"values {relation.words} are those of {{!r}} on {relation.share:.1%} of the rows"
    if one is None or other is None:
        return []
    expected = TURNS[other.role] / TURNS[one.role]
    pairs = _units(one, other, relation.factor)
    if not pairs:
        told = (
            f"{relation.other!r} is {relation.factor:.4g} times {relation.one!r} on {relation.share:.1%} of the rows, "
            f"which {other.role} to {one.role} ({expected:.4g}) is in no pair of units: one of the headings is wrong"
        )
        return [Conflict(relation, told, opinions_of)]
    (unit, unit_of_other) = pairs[0]
    _add(opinions_of, relation.one, one, unit, words.format(relation.other))
    back = f"{relation.one!r} {relation.words} gives these values on {relation.share:.1%} of the rows"
    _add(opinions_of, relation.other, other, unit_of_other, back)
    return []


def stem(found: list[Opinion]) -> Opinion | None:
    """The opinion, of several on one column, that it is a size of the stem."""
    return next((opinion for opinion in found if opinion.role in STEM), None)


def _units(one: Opinion, other: Opinion, factor: float) -> list[tuple[str, str]]:
    """The units in which the factor is that of the circle; those that were found already first."""
    scale = SIZES["dbh"]
    expected = TURNS[other.role] / TURNS[one.role]
    pairs = [
        (unit, more) for unit in scale for more in scale
        if abs(factor * scale[more] / (expected * scale[unit]) - 1) < 0.012
    ]  # fmt: skip
    return sorted(pairs, key=lambda pair: -((pair[0] == one.unit) + (pair[1] == other.unit)))


def _add(opinions_of: dict[str, list[Opinion]], heading: str, opinion: Opinion, unit: str, words: str) -> None:
    better = replace(
        opinion, unit=unit, confidence=max(opinion.confidence, 0.95), evidence=f"{opinion.evidence}; {words}"
    )
    opinions_of[heading] = [better, *(other for other in opinions_of[heading] if other is not opinion)]


US = ("in", "ft")


def same_system(chosen: dict[str, Opinion], opinions_of: dict[str, list[Opinion]], decides: float) -> None:
    """Give sizes without a unit of their own one of the system in which the file's other sizes are. Changes `chosen`.

    A city measures either in inches and feet or in centimetres and metres.
    """
    firm = [opinion.unit in US for opinion in chosen.values() if opinion.unit and not opinion.rival]
    for heading, opinion in chosen.items():
        if opinion.rival and firm and (opinion.unit in US) != firm[0] and (opinion.rival in US) == firm[0] == firm[-1]:
            why = f"{opinion.evidence}; but {opinion.rival}, as the sizes of the file whose unit is written"
            chosen[heading] = replace(opinion, unit=opinion.rival, rival="", evidence=why)
    votes = [opinion.unit in US for opinion in chosen.values() if opinion.unit]
    if not votes or any(opinion.role == "strip_width" for opinion in chosen.values()):
        return
    for heading, found in opinions_of.items():
        strip = next((opinion for opinion in found if opinion.role == "strip_width" and not opinion.unit), None)
        if strip and heading not in chosen:
            unit = "ft" if sum(votes) * 2 > len(votes) else "m"
            why = f"{strip.evidence} of its own; {unit}, as the other sizes of the file have it"
            chosen[heading] = replace(strip, unit=unit, confidence=max(decides, 0.7), evidence=why)
            return
