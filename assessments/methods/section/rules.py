"""The published rules of thumb beside the computed section, each with its range: outside it says so.

They judge a stem from its diameter and wall alone and know neither wind nor crown. Sources and thresholds stand with
each rule; where published texts disagree, both values are given.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from .integrals import Floats

METHOD: Final = "published_decay_rules"
VERSION: Final = 1

# What still counts as nearly concentric: project's choice (the rules say "concentric" without a number).
LARGEST_OFFSET: Final = 0.10  # of R, between the centroids of stem and void
LEAST_EVENNESS: Final = 0.6  # thinnest wall / mean wall


def wagener_percent(d_over_d: npt.ArrayLike) -> Floats:
    """Wagener 1963: loss = 100 (d/D)^3, for d/D of any shape.

    >>> round(float(wagener_percent(50 / 80)), 2)
    24.41
    """
    return np.asarray(100 * np.asarray(d_over_d, np.float64) ** 3)


def coder_percent(d_over_d: npt.ArrayLike) -> Floats:
    """Coder 1989: loss = 100 (d/D)^4, exact for a concentric hollow.

    >>> round(float(coder_percent(50 / 80)), 2)
    15.26
    """
    return np.asarray(100 * np.asarray(d_over_d, np.float64) ** 4)


def smiley_fraedrich_percent(d_over_d: npt.ArrayLike, opening_share: npt.ArrayLike) -> Floats:
    """Smiley & Fraedrich 1992: loss = 100 [d^3 + r (D^3 - d^3)] / D^3, r = opening / circumference (0 to 1).

    >>> round(float(smiley_fraedrich_percent(50 / 80, 0.15)), 2)
    35.75
    """
    cube = np.asarray(d_over_d, np.float64) ** 3
    return np.asarray(100 * (cube + np.asarray(opening_share, np.float64) * (1 - cube)))


@dataclass(frozen=True)
class Facts:
    """What the rules ask of a section. Lengths in cm without bark; `hollow_cm`: diameter of the void's area."""

    diameter_cm: float
    hollow_cm: float
    thinnest_wall_cm: float
    offset_share: float  # distance of the void's centroid from the stem's, as a share of R
    voids: int
    opening_share: float  # of the circumference
    open: bool
    cracked: bool
    readings: int
    measured: bool  # anything known of the inside

    @property
    def d_over_d(self) -> float:
        """Diameter of the hollow over that of the stem."""
        return self.hollow_cm / self.diameter_cm

    @property
    def mean_wall_cm(self) -> float:
        """Wall of the concentric hollow of the same area."""
        return (self.diameter_cm - self.hollow_cm) / 2


@dataclass(frozen=True)
class Rule:
    """The answer of one rule. `value` is None where it does not apply; `beyond` says whether it is past `threshold`."""

    applies: bool
    why: str
    quantity: str  # loss_percent, t_over_r, wall_cm or opening_deg
    value: float | None
    threshold: float | None
    beyond: bool | None
    validity: str
    source: str


def _unmeasured(facts: Facts) -> list[str]:
    return [] if facts.measured else ["nothing was measured inside"]


def _cracked(facts: Facts) -> list[str]:
    return ["it was made for stems without cracks"] if facts.cracked else []


def _open(facts: Facts) -> list[str]:
    return ["the cavity is open"] if facts.open else []


def _uneven(facts: Facts) -> list[str]:
    reasons = []
    if facts.voids > 1:
        reasons.append(f"there are {facts.voids} voids")
    if facts.voids and facts.offset_share > LARGEST_OFFSET:
        reasons.append(
            f"the void lies {100 * facts.offset_share:.0f} % of R off centre (at most {100 * LARGEST_OFFSET:.0f} %)"
        )
    elif facts.voids and facts.thinnest_wall_cm < LEAST_EVENNESS * facts.mean_wall_cm and not facts.open:
        reasons.append(f"the thinnest wall is below {LEAST_EVENNESS:g} of the mean wall")
    return reasons


def _few(facts: Facts) -> list[str]:
    return [f"it asks for 3 wall readings or more, there are {facts.readings}"] if 0 < facts.readings < 3 else []


def _answer(
    reasons: list[str],
    quantity: str,
    value: float,
    threshold: float,
    validity: str,
    source: str,
    *,
    low_is_bad: bool = False,
) -> Rule:
    if reasons:
        return Rule(
            False, "does not apply because " + "; ".join(reasons), quantity, None, threshold, None, validity, source
        )
    beyond = value < threshold if low_is_bad else value >= threshold
    return Rule(True, "applies", quantity, value, threshold, beyond, validity, source)


def wagener(facts: Facts) -> Rule:
    """Wagener's rule with its range."""
    reasons = [*_unmeasured(facts), *_cracked(facts), *_open(facts), *_uneven(facts)]
    return _answer(
        reasons, "loss_percent", float(wagener_percent(facts.d_over_d)), 33.0,
        "conifers, one nearly concentric rot, no open wound; the exponent 3 is an allowance for irregular trees",
        "Wagener 1963; threshold and range from memory",
    )  # fmt: skip


def coder(facts: Facts) -> Rule:
    """Coder's rule with its range."""
    reasons = [*_unmeasured(facts), *_cracked(facts), *_open(facts), *_uneven(facts)]
    return _answer(
        reasons, "loss_percent", float(coder_percent(facts.d_over_d)), 45.0,
        "one nearly concentric closed hollow; caution from 20 %, hazard from 45 % (a review prints above 50 %)",
        "Coder 1989, thresholds as recalled",
    )  # fmt: skip


def smiley_fraedrich(facts: Facts) -> Rule:
    """Smiley and Fraedrich's rule with its range; without an opening it equals Wagener's."""
    reasons = [*_unmeasured(facts), *_cracked(facts), *_uneven(facts)]
    return _answer(
        reasons, "loss_percent", float(smiley_fraedrich_percent(facts.d_over_d, facts.opening_share)), 33.0,
        "one nearly concentric cavity, closed or open; its 33 % foretold half of the failures in 40 m/s wind",
        "Smiley & Fraedrich 1992",
    )  # fmt: skip


def t_over_r(facts: Facts) -> Rule:
    """The t/R guide with its range."""
    return _answer(
        [*_unmeasured(facts), *_cracked(facts), *_open(facts)],
        "t_over_r", 2 * facts.thinnest_wall_cm / facts.diameter_cm, 0.30,
        "full-crowned trees with a closed hollow; 0.33 as a rule of thumb; disputed as a predictor on its own",
        "Mattheck et al. 1992-94",
        low_is_bad=True,
    )  # fmt: skip


def open_cavity(facts: Facts) -> Rule:
    """The guide for open cavities: width of the opening as an angle."""
    reasons = [] if facts.open else ["the cavity is not open"]
    return _answer(
        [*_cracked(facts), *reasons], "opening_deg", 360 * facts.opening_share, 120.0,
        "open cavities of full-crowned trees", "Mattheck et al., as given in a review",
    )  # fmt: skip


def shell_one_in_six(facts: Facts) -> Rule:
    """One inch of sound wood for each six inches of stem diameter."""
    return _answer(
        [*_unmeasured(facts), *_open(facts)], "wall_cm", facts.thinnest_wall_cm, facts.diameter_cm / 6,
        "closed cavities; a severe crack raises the class", "USDA NA-TP-03-03 (Pokorny 2003)", low_is_bad=True,
    )  # fmt: skip


def shell_15_percent(facts: Facts) -> Rule:
    """Mean sound shell of 0.15 D."""
    return _answer(
        [*_unmeasured(facts), *_open(facts), *_few(facts)], "wall_cm", facts.mean_wall_cm, 0.15 * facts.diameter_cm,
        "conifers, mean of 3 readings or more, no open wound (25 % more with one: from memory, low confidence)",
        "USDA Forest Service R5 and R6 guides after Wagener, from memory", low_is_bad=True,
    )  # fmt: skip


def shell_open(facts: Facts) -> Rule:
    """Two inches of sound wood for each six of diameter beside an opening below 30 % of the circumference."""
    reasons = [] if facts.open else ["the cavity is not open"]
    if facts.opening_share >= 0.30:
        reasons.append("the opening takes 30 % of the circumference or more")
    return _answer(
        [*_unmeasured(facts), *reasons], "wall_cm", facts.thinnest_wall_cm, facts.diameter_cm / 3,
        "cavities with an opening below 30 % of the circumference",
        "USDA guidance for the north-eastern area, from memory, low confidence", low_is_bad=True,
    )  # fmt: skip


RULES: Final = {
    "wagener": wagener,
    "coder": coder,
    "smiley_fraedrich": smiley_fraedrich,
    "t_over_r": t_over_r,
    "open_cavity": open_cavity,
    "shell_one_in_six": shell_one_in_six,
    "shell_15_percent": shell_15_percent,
    "shell_open": shell_open,
}
