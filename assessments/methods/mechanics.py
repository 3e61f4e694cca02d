"""Likelihood of stem failure from mechanics: the critical gust with its spread against the gusts of the site.

The three bands are the project's choice. Imminent is never suggested by calculation, and no gust climate is invented.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from .stem_load import Result, Tree
from .stem_load.answer import FASTEST_M_S
from .stem_load.check import Z80, half_widths

METHOD: Final = "likelihood_from_critical_gust"
VERSION: Final = 1

NEEDS_CLIMATE: Final = "needs the gust climate of the site"
CHOICE: Final = (
    "Below the one-year gust probable, up to the 50-year gust possible, above it improbable: the project's choice."
)
OUTSIDE: Final = "Roots, unions, branches, sway, torsion and shear lie outside: they need findings of their own."


@dataclass(frozen=True)
class Climate:
    """Gusts of 3 seconds at 10 m at the site that come once in one and in fifty years on average, in m/s."""

    one_year_m_s: float
    fifty_year_m_s: float

    def __post_init__(self) -> None:
        if not 0 < self.one_year_m_s < self.fifty_year_m_s:
            raise ValueError("fifty_year_m_s: must be more than one_year_m_s, and both more than 0")

    def category(self, gust_m_s: float) -> str:
        """Give the likelihood of a critical gust.

        >>> [Climate(22.0, 36.0).category(gust) for gust in (21.0, 22.0, 36.0, 36.1)]
        ['probable', 'possible', 'possible', 'improbable']
        """
        if gust_m_s < self.one_year_m_s:
            return "probable"
        return "possible" if gust_m_s <= self.fifty_year_m_s else "improbable"


@dataclass(frozen=True)
class Gust:
    """The critical gust in m/s with its 80 % band."""

    low: float
    best: float
    high: float


@dataclass(frozen=True)
class Mechanics:
    """What mechanics suggest. `category` and `range` (at the high and the low gust) are empty without a climate."""

    category: str
    range: tuple[str, ...]
    gust: Gust
    height_m: float
    measured: bool
    reasons: tuple[str, ...]
    sharpen: str
    method: str = METHOD
    version: int = VERSION


def judge(tree: Tree, result: Result, climate: Climate | None) -> Mechanics:
    """Judge a computed stem load against the gusts of its site; without them the answer says that it needs them."""
    gust = Gust(*result.critical_gust_m_s(tree))
    height, measured = result.first_to_fail.height_m, result.first_to_fail.basis != "sound"
    reasons = [f"Critical gust {said(gust.best)} (80 % band {said(gust.low)} to {said(gust.high)}) at {height:.1f} m."]
    if not measured:
        reasons.append("Nothing was measured inside there: the stem is taken as sound.")
    if climate is None:
        reasons.append(f"Mechanics {NEEDS_CLIMATE}: its one-year and 50-year gust, which a city sets.")
        return Mechanics("", (), gust, height, measured, tuple(reasons), NEEDS_CLIMATE)
    category = climate.category(_known(gust.best, climate))
    ends = tuple(climate.category(_known(end, climate)) for end in (gust.high, gust.low))
    reasons.append(_compared(gust.best, climate, category))
    if ends[0] != ends[1]:
        reasons.append(f"Over the band it ranges from {ends[0]} to {ends[1]}.")
    reasons += [CHOICE, OUTSIDE]
    return Mechanics(category, ends, gust, height, measured, tuple(reasons), _sharpen(tree, result))


def said(gust_m_s: float) -> str:
    """Say a gust as the stem load does: beyond 45 m/s only that it is more.

    >>> said(31.26), said(60.0)
    ('31.3 m/s', 'more than 45 m/s')
    """
    return f"more than {FASTEST_M_S:g} m/s" if gust_m_s > FASTEST_M_S else f"{gust_m_s:.1f} m/s"


def _known(gust_m_s: float, climate: Climate) -> float:
    """Beyond 45 m/s nothing is measured: a figure above counts as no more than that where the site has such gusts."""
    return min(gust_m_s, FASTEST_M_S) if climate.fifty_year_m_s >= FASTEST_M_S else gust_m_s


def _compared(gust_m_s: float, climate: Climate, category: str) -> str:
    one, fifty = climate.one_year_m_s, climate.fifty_year_m_s
    against = {
        "probable": f"below the one-year gust of {one:g} m/s",
        "possible": f"between the one-year gust of {one:g} and the 50-year gust of {fifty:g} m/s",
        "improbable": f"above the 50-year gust of {fifty:g} m/s",
    }
    return f"It lies {against[category]}: {category}."


def _sharpen(tree: Tree, result: Result) -> str:
    """Name the measurement that takes most from the band, or the one that is missing altogether."""
    weakest = result.first_to_fail
    if weakest.basis == "sound":
        return f"the sound wall at {weakest.height_m:.1f} m, where nothing was measured inside"
    widest = max(_SOURCES, key=lambda source: source[1](tree, result))
    return widest[0].format(height=weakest.height_m)


def _loss_width(tree: Tree, result: Result) -> float:
    alone = math.hypot(_strength_width(tree, result), math.log(tree.drag.high / tree.drag.best))
    return math.sqrt(max(half_widths(tree, result.first_to_fail.loss)[0] ** 2 - alone**2, 0.0))


def _strength_width(tree: Tree, result: Result) -> float:
    return Z80 * math.sqrt(math.log1p(tree.strength.variation**2))


def _drag_width(tree: Tree, result: Result) -> float:
    return math.log(tree.drag.high / tree.drag.best)


_SOURCES: Final[tuple[tuple[str, Callable[[Tree, Result], float]], ...]] = (
    ("more readings of the sound wall at {height:.1f} m", _loss_width),
    ("a static pulling test, which measures the load that this crown brings", _drag_width),
    ("a static pulling test, which measures how this wood strains", _strength_width),
)
