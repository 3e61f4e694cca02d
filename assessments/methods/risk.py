"""Risk words, their codes and the two published matrices, for one part and target or a whole city.

Source: ISA Best Management Practices, Tree Risk Assessment, 2nd ed. 2017 (ANSI A300 risk assessment clause).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from . import tables

METHOD: Final = "risk_matrices_isa_bmp_2017"
VERSION: Final = 1

Codes: TypeAlias = npt.NDArray[np.uint8]
Words: TypeAlias = tuple[str, ...]

# Each in rising order. The code of a word is its place counted from 1; code 0 means none or unknown.
FAILURE: Final[Words] = ("improbable", "possible", "probable", "imminent")
OCCUPANCY: Final[Words] = ("rare", "occasional", "frequent", "constant")
EXPOSURE: Final[Words] = ("protected", "partial", "full")
IMPACT: Final[Words] = ("very_low", "low", "medium", "high")
LIKELIHOOD: Final[Words] = ("unlikely", "somewhat_likely", "likely", "very_likely")
CONSEQUENCES: Final[Words] = ("negligible", "minor", "significant", "severe")
RISK: Final[Words] = ("low", "moderate", "high", "extreme")
FALL_DIRECTION: Final[Words] = ("unknown", "towards", "across", "away")
MOBILITY: Final[Words] = ("mobile", "movable", "static")

UNKNOWN: Final = 0
LOW, MODERATE, HIGH, EXTREME = 1, 2, 3, 4
IMMINENT: Final = 4


def code(words: Words, word: str) -> int:
    """Give the code of a word of an ordered scale; the empty word is 0. Raises ValueError for another word.

    >>> code(RISK, "high")
    3
    """
    if not word:
        return UNKNOWN
    if word not in words:
        raise ValueError(f"{word!r} is not one of {', '.join(words)}")
    return words.index(word) + 1


def word(words: Words, code: int) -> str:
    """Give the word of a code; 0 gives the empty word. Raises ValueError outside the scale.

    >>> word(RISK, 3)
    'high'
    """
    if not 0 <= code <= len(words):
        raise ValueError(f"code {code} is outside 0 to {len(words)}")
    return words[code - 1] if code else ""


def _matrix(name: str, rows: Words, columns: Words, cells: Words) -> Codes:
    """Read a table of words into a (5, 5) array of codes whose row and column 0 (unknown) give 0."""
    matrix = np.zeros((len(rows) + 1, len(columns) + 1), np.uint8)
    for row in tables.read(name):
        line, *values = row.values()
        matrix[code(rows, line), 1:] = [code(cells, value) for value in values]
        if tuple(row)[1:] != columns:
            raise ValueError(f"{name}.csv: columns must be {', '.join(columns)}")
    matrix.setflags(write=False)
    return matrix


LIKELIHOOD_MATRIX: Final = _matrix("failure_and_impact", FAILURE, IMPACT, LIKELIHOOD)
RISK_MATRIX: Final = _matrix("risk_rating", LIKELIHOOD, CONSEQUENCES, RISK)
# Both matrices composed: one lookup for a rating, (5, 5, 5) by failure, impact, consequences.
RATING_CUBE: Final = RISK_MATRIX[LIKELIHOOD_MATRIX]
RATING_CUBE.setflags(write=False)


def failure_and_impact(failure: str, impact: str) -> str:
    """Give the likelihood of failure and impact from its two words. Raises ValueError for an unknown word.

    >>> failure_and_impact("probable", "high")
    'likely'
    """
    return word(LIKELIHOOD, int(LIKELIHOOD_MATRIX[code(FAILURE, failure), code(IMPACT, impact)]))


def rate(failure: str, impact: str, consequences: str) -> str:
    """Give the risk rating of one part and target. Raises ValueError for an unknown word.

    >>> rate("probable", "high", "severe")
    'high'
    """
    row = code(FAILURE, failure), code(IMPACT, impact), code(CONSEQUENCES, consequences)
    return word(RISK, int(RATING_CUBE[row]))


def _checked(name: str, codes: npt.ArrayLike) -> npt.NDArray[np.integer[Any]]:
    array = np.asarray(codes)
    if array.size and (array.min() < 0 or array.max() > 4):
        raise ValueError(f"{name}: codes must be 0 to 4")
    return array


def failure_and_impact_codes(failure: npt.ArrayLike, impact: npt.ArrayLike) -> Codes:
    """Give likelihood codes for arrays of failure and impact codes of one shape; 0 in, 0 out.

    Raises ValueError for a code outside 0 to 4.

    >>> failure_and_impact_codes([3, 0], [4, 4]).tolist()
    [3, 0]
    """
    return np.asarray(LIKELIHOOD_MATRIX[_checked("failure", failure), _checked("impact", impact)])


def rate_codes(failure: npt.ArrayLike, impact: npt.ArrayLike, consequences: npt.ArrayLike) -> Codes:
    """Give risk codes for arrays of codes of one shape; an unknown (0) in any of them gives 0.

    Raises ValueError for a code outside 0 to 4.

    >>> rate_codes([3, 2], [4, 4], [4, 4]).tolist()
    [3, 2]
    """
    return np.asarray(
        RATING_CUBE[
            _checked("failure", failure),
            _checked("impact", impact),
            _checked("consequences", consequences),
        ]
    )


def worst(ratings: Sequence[str]) -> str:
    """Give the highest of several risk words: the rating of a tree is that of its worst part and target.

    >>> worst(["low", "high", "moderate"])
    'high'
    """
    return word(RISK, max((code(RISK, rating) for rating in ratings), default=UNKNOWN))


def target_occupancy(mobility: str, stated: str) -> str:
    """Give the occupancy to rate with: a static target (a house, a line) is always constant.

    >>> target_occupancy("static", "rare")
    'constant'
    """
    if mobility not in MOBILITY:
        raise ValueError(f"{mobility!r} is not one of {', '.join(MOBILITY)}")
    code(OCCUPANCY, stated)
    return "constant" if mobility == "static" else stated


@dataclass(frozen=True)
class Impact:
    """A suggested likelihood of impact, why, and whether a published text gives it or it is interpolated."""

    word: str
    reason: str
    basis: str  # stated, recalled (from memory of the text) or interpolated (project's choice)

    @property
    def published(self) -> bool:
        """Whether the cell stands in the published guidance."""
        return self.basis != "interpolated"


_GUIDANCE: Final = {(row["occupancy"], row["exposure"]): row for row in tables.read("impact_guidance")}


def impact_from(occupancy: str, exposure: str, fall_direction: str = "unknown") -> Impact:
    """Suggest the likelihood of impact, given failure, from how often and how openly the target is there.

    `fall_direction` tells where the target lies against the lean or heavier side: a word of FALL_DIRECTION.
    Raises ValueError for an unknown word.

    >>> impact_from("constant", "full", "away").word
    'medium'
    """
    for words, given in (
        (OCCUPANCY, occupancy),
        (EXPOSURE, exposure),
        (FALL_DIRECTION, fall_direction),
    ):
        if given not in words:
            raise ValueError(f"{given!r} is not one of {', '.join(words)}")
    if (occupancy, exposure, fall_direction) == ("constant", "full", "away"):
        return Impact(
            "medium",
            "constant occupancy, full exposure, but on the side away from the lean",
            "recalled",
        )
    row = _GUIDANCE[occupancy, exposure]
    return Impact(row["impact"], f"{occupancy} occupancy, {exposure} exposure", row["basis"])
