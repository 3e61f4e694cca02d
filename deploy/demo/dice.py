"""Chance that is the same each time: a throw depends on what it is about, not on what was thrown before."""

from collections.abc import Sequence
from random import Random
from typing import Final, TypeVar

T = TypeVar("T")

SEED: Final = "harrowmere/1"


def dice(*about: object) -> Random:
    """Give the dice for one subject: the same words give the same throws, whatever else the city holds."""
    return Random("/".join([SEED, *map(str, about)]))


def pick(throw: Random, shares: Sequence[tuple[T, float]]) -> T:
    """Pick one by its share; the shares need not add up to one.

    >>> pick(Random(1), [("only", 3.0)])
    'only'
    """
    at = throw.random() * sum(share for _, share in shares)
    for one, share in shares:
        at -= share
        if at < 0:
            return one
    return shares[-1][0]
