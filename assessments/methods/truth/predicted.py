"""What was predicted of each height: from measured sections, between and beyond them, or from signs alone."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from assessments.methods.calibration.correct import Estimate, Figure, uncorrected
from assessments.methods.calibration.rows import LARGEST_SPREAD, UNSTATED_SPREAD, spread_of
from assessments.methods.findings import UNKNOWN_TREE, Finding, TreeFacts
from assessments.methods.section import Section, assess
from assessments.methods.section.along_stem import GRID_DEG, Level, Stem, along
from assessments.methods.section.uncertainty import Interval, drawn_voids

from .signs import DECAY_SIGNS, leading, signs, wall_fraction

METHOD: Final = "predicted_by_height"
VERSION: Final = 1

# A cut this near to a measured section is that section. Project's choice.
SAME_M: Final = 0.03
# Spread of the logit that a metre of unseen stem adds; it grows with the square root. Project's choice.
PER_ROOT_M: Final = 0.4
MOST_DRAWS: Final = 200
LEVELS: Final = (0.025, 0.10, 0.90, 0.975)


@dataclass(frozen=True)
class Thresholds:
    """What was said to be the limit: t/R at least, loss of section modulus in % at most."""

    t_over_r: float = 0.30
    loss_percent: float = 33.0


@dataclass(frozen=True)
class Predicted:
    """The judgement before felling: sections of the last inspection with their heights, findings, likelihood.

    `methods` goes with `sections`: how the walls were read (`method_of`).
    """

    sections: tuple[Section, ...] = ()
    methods: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    tree: TreeFacts = UNKNOWN_TREE
    likelihood: str | None = None
    thresholds: Thresholds = Thresholds()


@dataclass(frozen=True)
class AtHeight:
    """The prediction at one height. `away_m`: from the nearest measured section; None from signs.

    `wall` and `loss` are None where signs told of a hollow without a figure, or where nothing was suspected.
    """

    height_m: float
    basis: str  # measured, between, beyond, signs or nothing
    hollow: bool
    sign: str
    method: str
    spread: float
    wall: Figure | None
    loss: Interval | None
    level: Level | None
    away_m: float | None


def method_of(measured: Mapping[str, Any]) -> str:
    """Give the commonest way its walls were read, of a section request as it was sent.

    >>> method_of({"readings": [{"method": "drilling"}, {"method": "drilling"}, {}]})
    'drilling'
    """
    told = [reading.get("method") or "unknown" for reading in measured.get("readings") or ()]
    if not told:
        return "drawn" if measured.get("voids_cm") else "unknown"
    return max(sorted(set(told)), key=told.count)


def wall_interval(section: Section) -> Figure | None:
    """Give t/R with the interval that reading errors and the unknown wall between them leave; None without readings."""
    if not section.readings or section.voids:
        return None
    asked = replace(section, draws=MOST_DRAWS)
    radius = section.outline.radius_cm
    void = drawn_voids(asked, np.unique(np.concatenate([GRID_DEG[::2], section.azimuths_deg % 360])))
    there = void.outer_cm > void.inner_cm
    walls = np.where(there, void.reach_cm - np.maximum(void.outer_cm, 0), radius).min(-1) / radius
    low95, low, high, high95 = np.quantile(np.clip(walls, 0, 1), LEVELS).tolist()
    best = min(assess(replace(section, draws=0)).t_over_r, 1.0)
    return Figure(best, min(low, best), max(high, best), min(low95, best), max(high95, best))


def spread_in(figure: Figure | None) -> float:
    """Give the spread of a wall as calibration takes it."""
    return UNSTATED_SPREAD if figure is None else spread_of(figure.low, figure.high)


def estimate_of(section: Section, findings: Sequence[Finding], group: str, method: str = "unknown") -> Estimate:
    """Make the estimate of a standing tree's section that calibration may correct."""
    sign = leading(findings, section.height_m or 0.0)
    wall = min(assess(replace(section, draws=0)).t_over_r, 1.0)
    figure = wall_interval(section)
    return Estimate(wall, spread_in(figure), sign.kind if sign else "none", method, group)


@dataclass(frozen=True)
class _Known:
    """The measured sections: heights, wall figures and intervals of the loss."""

    heights_m: tuple[float, ...]
    walls: tuple[Figure | None, ...]
    losses: tuple[Interval, ...]


def stem_of(told: Predicted, heights_m: Sequence[float]) -> Stem | None:
    """Give the stem as its sections tell it, at their heights and at others; None without any.

    Raises MethodProblem for sections without or at the same height.
    """
    bare = [replace(section, draws=0) for section in told.sections]
    measured = [section.height_m or 0.0 for section in bare]
    return along(bare, [_same(height, measured) for height in heights_m]) if bare else None


def predict(told: Predicted, heights_m: Sequence[float], stem: Stem | None) -> tuple[AtHeight, ...]:
    """Say what was predicted at each height, with the stem of `stem_of` for the same heights."""
    if stem is None:
        return tuple(_by_signs(told, height) for height in heights_m)
    known = _known(told)
    levels = {level.height_m: level for level in stem.levels}
    return tuple(_by_section(told, height, levels[_same(height, known.heights_m)], known) for height in heights_m)


def _known(told: Predicted) -> _Known:
    walls = tuple(wall_interval(section) for section in told.sections)
    losses = tuple(
        assess(replace(section, draws=min(section.draws, MOST_DRAWS))).loss_percent for section in told.sections
    )
    return _Known(tuple(section.height_m or 0.0 for section in told.sections), walls, losses)


def _same(height: float, measured: Sequence[float]) -> float:
    nearest = min(measured, key=lambda one: abs(one - height))
    return nearest if abs(nearest - height) <= SAME_M else height


def _by_section(told: Predicted, height: float, level: Level, known: _Known) -> AtHeight:
    near = min(range(len(known.heights_m)), key=lambda place: abs(known.heights_m[place] - height))
    away = 0.0 if level.basis == "measured" else abs(known.heights_m[near] - height)
    own = spread_in(known.walls[near])
    spread = min(math.hypot(own, PER_ROOT_M * math.sqrt(away)), LARGEST_SPREAD)
    wall = min(level.answer.t_over_r, 1.0)
    figure = known.walls[near] if away == 0 else None
    loss = known.losses[near] if away == 0 else _wider(level, known.losses[near], spread / own)
    sign = leading(told.findings, height)
    hollow = not level.answer.residual.decay.is_empty or bool(level.answer.section.openings)
    return AtHeight(
        height, level.basis, hollow, sign.kind if sign else "none",
        told.methods[near] if told.methods else "unknown", spread,
        figure or uncorrected(Estimate(wall, spread)), loss, level, away,
    )  # fmt: skip


def _wider(level: Level, near: Interval, times: float) -> Interval:
    """The nearest section's interval round another best estimate, wider for what nobody measured."""
    best = level.answer.loss_percent.best_estimate
    low, high, low95, high95 = (
        float(np.clip(best + times * (end - near.best_estimate), 0, 100))
        for end in (near.low, near.high, near.low95, near.high95)
    )
    return Interval(best, low, high, low95, high95)


def _by_signs(told: Predicted, height: float) -> AtHeight:
    sign = leading(told.findings, height)
    decay = [one for one in signs(told.findings, DECAY_SIGNS) if one.near(height)]
    walls = [wall for one in decay if (wall := wall_fraction(one, told.tree)) is not None]
    kind = sign.kind if sign else "none"
    figure = uncorrected(Estimate(min(walls), UNSTATED_SPREAD)) if walls else None
    basis = "signs" if decay else "nothing"
    return AtHeight(height, basis, bool(decay), kind, "signs", UNSTATED_SPREAD, figure, None, None, None)
