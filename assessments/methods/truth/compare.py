"""Sets what was predicted of a tree beside what its opened stem showed, height by height and as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from assessments.methods import likelihood
from assessments.methods.calibration.normal import cdf
from assessments.methods.calibration.rows import Row, logit
from assessments.methods.dissection import Face, Rebuilt
from assessments.methods.findings import Finding, TreeFacts
from assessments.methods.section.uncertainty import Interval

from .faults import CrackTruth, DecayTruth, crack_truths, decay_truths
from .predicted import AtHeight, Predicted, Thresholds, predict, stem_of

METHOD: Final = "truth_against_judgement"
VERSION: Final = 1

# A figure drawn out farther than this beyond the last measured section teaches nothing of measuring. Project's choice.
MOST_AWAY_M: Final = 0.5
NOTES: Final = (
    "The wall found is that of the cut face, as tape and eye told it; the intervals do not hold their small error.",
    "Cuts of one stem resemble each other: eight cuts are not eight trees.",
    "The likelihood found is that of the published classes for the wall found; no load is in it.",
)


@dataclass(frozen=True)
class HeightTruth:
    """One height. Errors are found less predicted; `chance`: stated chance that t/R was below its threshold."""

    predicted: AtHeight
    face: Face
    overlap_iou: float | None
    chance: float | None
    crossed_predicted: bool | None
    crossed_found: bool

    @property
    def found(self) -> float:
        """The sound-wall fraction found (t/R)."""
        return min(self.face.answer.t_over_r, 1.0)

    @property
    def found_loss(self) -> float:
        """The loss of section modulus found, in %."""
        return self.face.answer.loss_percent.best_estimate

    @property
    def error(self) -> float | None:
        """t/R found less predicted."""
        return None if self.predicted.wall is None else self.found - self.predicted.wall.best

    @property
    def loss_error(self) -> float | None:
        """Loss found less predicted, in points."""
        return None if self.predicted.loss is None else self.found_loss - self.predicted.loss.best_estimate

    def held(self, share: int = 80) -> bool | None:
        """Whether the interval of t/R (80 or 95 %) held what was found."""
        wall = self.predicted.wall
        if wall is None:
            return None
        low, high = (wall.low, wall.high) if share == 80 else (wall.low95, wall.high95)
        return low <= self.found <= high

    def loss_held(self, share: int = 80) -> bool | None:
        """Whether the interval of the loss (80 or 95 %) held what was found."""
        loss = self.predicted.loss
        return None if loss is None else _within(loss, self.found_loss, share)


def _within(interval: Interval, value: float, share: int) -> bool:
    low, high = (interval.low, interval.high) if share == 80 else (interval.low95, interval.high95)
    return low <= value <= high


@dataclass(frozen=True)
class Summary:
    """Over the heights with a figure; errors of t/R, shares 0 to 1, None without any."""

    compared: int
    mean_error: float | None
    mean_absolute_error: float | None
    held80: float | None
    held95: float | None
    mean_loss_error: float | None
    loss_held80: float | None


@dataclass(frozen=True)
class Comparison:
    """The whole tree. `verdict`: right_crossed, right_not_crossed, missed, false_alarm or not_stated.

    It is about the threshold anywhere on the stem; `likelihood_found` is None where the stem was sound.
    """

    heights: tuple[HeightTruth, ...]
    cracks: tuple[CrackTruth, ...]
    decay: tuple[DecayTruth, ...]
    thresholds: Thresholds
    verdict: str
    likelihood_predicted: str | None
    likelihood_found: str | None
    summary: Summary
    inspected: bool
    notes: tuple[str, ...]


def compare(rebuilt: Rebuilt, told: Predicted) -> Comparison:
    """Compare a rebuilt stem with what was predicted. Raises MethodProblem for sections without a height."""
    at_m = [face.cut.height_m for face in rebuilt.faces]
    stem = stem_of(told, at_m)
    at = predict(told, at_m, stem)
    heights = tuple(_height(one, face, told.thresholds) for one, face in zip(at, rebuilt.faces, strict=True))
    inspected = bool(told.sections or told.findings or told.likelihood)
    verdict = _verdict(heights) if inspected else "not_stated"
    return Comparison(
        heights, crack_truths(rebuilt, told, stem), decay_truths(rebuilt, told, stem), told.thresholds, verdict,
        told.likelihood, _likelihood(rebuilt, told.tree), _summary(heights), inspected, NOTES,
    )  # fmt: skip


def _height(at: AtHeight, face: Face, limits: Thresholds) -> HeightTruth:
    found = face.answer
    crossed = found.t_over_r < limits.t_over_r or found.loss_percent.best_estimate > limits.loss_percent
    expected = chance = None
    if at.wall is not None:
        expected = at.wall.best < limits.t_over_r
        expected = expected or (at.loss is not None and at.loss.best_estimate > limits.loss_percent)
        chance = float(cdf((logit(limits.t_over_r) - logit(at.wall.best)) / at.spread))
    elif at.basis == "nothing":
        expected = False
    return HeightTruth(at, face, _overlap(at, face), chance, expected, crossed)


def _overlap(at: AtHeight, face: Face) -> float | None:
    """Area shared by the predicted and the found hollow over that of both; None where neither has one."""
    if at.level is None:
        return None
    one, other = at.level.answer.residual.decay, face.answer.residual.decay
    both = shapely.union(one, other).area
    return float(shapely.intersection(one, other).area / both) if both > 0 else None


def _verdict(heights: Sequence[HeightTruth]) -> str:
    stated = [one for one in heights if one.crossed_predicted is not None]
    if not stated:
        return "not_stated"
    expected, found = any(one.crossed_predicted for one in stated), any(one.crossed_found for one in heights)
    if expected == found:
        return "right_crossed" if found else "right_not_crossed"
    return "missed" if found else "false_alarm"


def _likelihood(rebuilt: Rebuilt, tree: TreeFacts) -> str | None:
    """The category of the published classes for the thinnest wall found; None where no face was hollow."""
    hollow = [face for face in rebuilt.faces if face.hollow]
    if not hollow:
        return None
    worst = min(hollow, key=lambda face: face.answer.t_over_r)
    measures = {"shell_cm": worst.answer.thinnest_wall_cm}
    diameter = 2 * worst.cut.section.outline.radius_cm
    kind = "cavity" if worst.cavity_cm2 > 0 else "decay"
    finding = Finding(kind, "stem", diameter, worst.cut.height_m, measures=dict(measures))
    return likelihood.suggest([finding], TreeFacts(tree.dbh_cm, tree.height_m, tree.conifer)).category


def _summary(heights: Sequence[HeightTruth]) -> Summary:
    errors = [one.error for one in heights if one.error is not None]
    losses = [one.loss_error for one in heights if one.loss_error is not None]
    return Summary(
        len(errors), _mean(errors), _mean([abs(error) for error in errors]),
        _mean([one.held() for one in heights]), _mean([one.held(95) for one in heights]),
        _mean(losses), _mean([one.loss_held() for one in heights]),
    )  # fmt: skip


def _mean(values: Sequence[float | bool | None]) -> float | None:
    there = [float(value) for value in values if value is not None]
    return sum(there) / len(there) if there else None


def rows(comparison: Comparison, tree: str, reason: str, group: str) -> tuple[Row, ...]:
    """Give what calibration learns from a tree; nothing where nobody had inspected it.

    A figure drawn out more than half a metre beyond the last section is left out. Raises MethodProblem for a reason
    that is not known.
    """
    if not comparison.inspected:
        return ()
    return tuple(
        Row(tree, _estimated(one.predicted), one.found, reason, one.predicted.sign, one.predicted.method, group,
            one.predicted.spread)
        for one in comparison.heights
        if one.predicted.basis != "beyond" or (one.predicted.away_m or 0) <= MOST_AWAY_M
    )  # fmt: skip


def _estimated(at: AtHeight) -> float | None:
    if at.wall is not None:
        return at.wall.best
    return None if at.hollow else 1.0
