"""Corrects a new estimate by the calibration, or says why it does not: the uncorrected figure is always shown."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from assessments.methods.problems import MethodProblem
from assessments.methods.section import Reading, Section, assess
from assessments.methods.section.integrals import Floats
from assessments.methods.section.uncertainty import Interval

from .fit import LEAST_TREES, Calibration, columns
from .normal import mixture_quantiles
from .rows import CENTRE, FACTORS, LEAST_FRACTION, SOUND_FRACTION, UNSTATED_SPREAD, fraction, logit

METHOD: Final = "correction_by_calibration"
VERSION: Final = 1

LEVELS: Final = (0.025, 0.10, 0.5, 0.90, 0.975)
_Z: Final = np.array([-1.9599640, -1.2815516, 0.0, 1.2815516, 1.9599640])


@dataclass(frozen=True)
class Estimate:
    """A sound-wall fraction (t/R) to correct; `spread` is the sd of its logit as stated (`rows.spread_of`).

    `reason` stays None for a standing tree: nobody knows why it will be felled.
    """

    fraction: float
    spread: float = UNSTATED_SPREAD
    sign: str = "none"
    method: str = "unknown"
    group: str = "unknown"
    reason: str | None = None


@dataclass(frozen=True)
class Figure:
    """A fraction with its 80 % (low, high) and 95 % intervals."""

    best: float
    low: float
    high: float
    low95: float
    high95: float


@dataclass(frozen=True)
class Corrected:
    """An estimate before and after. Where nothing is applied `figure` is `uncorrected` and `why` says so."""

    applied: bool
    why: str
    trees: int
    figure: Figure
    uncorrected: Figure
    notes: tuple[str, ...] = ()
    method: str = METHOD
    version: int = VERSION

    @property
    def said(self) -> str:
        """Say it in one sentence, for reports."""
        before = f"t/R {self.uncorrected.best:.2f} ({self.uncorrected.low:.2f} to {self.uncorrected.high:.2f})"
        if not self.applied:
            return f"Not corrected by dissections: {self.why}. It stays at {before}."
        after = f"t/R {self.figure.best:.2f} (80 % interval {self.figure.low:.2f} to {self.figure.high:.2f})"
        return f"Corrected by {self.trees} dissected trees: {after}; uncorrected {before}."


def correct(calibration: Calibration, estimate: Estimate) -> Corrected:
    """Correct one estimate. Raises MethodProblem for a fraction outside 0 to 1."""
    return correct_all(calibration, [estimate])[0]


def correct_all(calibration: Calibration, estimates: Sequence[Estimate]) -> tuple[Corrected, ...]:
    """Correct many estimates at once, each as `correct` does. Raises MethodProblem for a fraction outside 0 to 1."""
    if any(not 0 <= one.fraction <= 1 for one in estimates):
        raise MethodProblem("/fraction", "must be 0 to 1")
    why = [_refused(calibration, one.fraction) for one in estimates]
    allowed = [one for one, reason in zip(estimates, why, strict=True) if not reason]
    ends: Iterator[Floats] = iter(())
    if allowed:
        mean, variance = predictive(calibration, allowed)
        ends = iter(fraction(CENTRE + mixture_quantiles(mean, np.sqrt(variance), LEVELS)))
    found = []
    for one, reason in zip(estimates, why, strict=True):
        before, trees = uncorrected(one), calibration.trees
        if reason:
            found.append(Corrected(False, reason, trees, before, before))
            continue
        figure = _figure(next(ends))
        found.append(Corrected(True, "inside the range dissected", trees, figure, before, _unseen(calibration, one)))
    return tuple(found)


def uncorrected(estimate: Estimate) -> Figure:
    """Give the figure as stated."""
    ends = fraction(logit(estimate.fraction) + _Z * estimate.spread)
    return replace(_figure(ends), best=estimate.fraction)


def _figure(ends: Floats) -> Figure:
    low95, low, best, high, high95 = ends.tolist()
    return Figure(best, low, high, low95, high95)


def _refused(calibration: Calibration, estimated: float) -> str:
    if not calibration.enough:
        opened = {0: "no tree was", 1: "only 1 tree was"}.get(calibration.trees, f"only {calibration.trees} trees were")
        return f"{opened} dissected, {LEAST_TREES} are needed"
    if estimated >= SOUND_FRACTION:
        return "a section estimated wholly sound has no wall to correct; see how often such sections are found hollow"
    low, high = calibration.lowest, calibration.highest
    if not low <= estimated <= high:
        return f"{estimated:.2f} lies outside the range dissected, {low:.2f} to {high:.2f}"
    return ""


def predictive(calibration: Calibration, estimates: Sequence[Estimate]) -> tuple[Floats, Floats]:
    """Mean and variance (n, k) of the truth's logit from the centre at each point, each for one cut of a new tree."""
    points = calibration.points
    rows = np.array([columns(one.sign, one.method, one.group, one.reason, calibration.levels) for one in estimates])
    rows[:, 1] = logit([one.fraction for one in estimates]) - CENTRE
    spread = np.array([one.spread for one in estimates])
    moved = np.matmul(rows, points.covariance)  # (k, n, p)
    variance = (moved * rows).sum(-1).T + points.sizes[:, 1] ** 2 + (points.sizes[:, 0] * spread[:, None]) ** 2
    for place, name in enumerate(FACTORS):
        unseen = np.array([getattr(one, name) not in calibration.levels[place] for one in estimates])
        variance = variance + unseen[:, None] * points.sizes[:, 2 + place] ** 2
    return rows @ points.mean.T + rows[:, 1:2], variance


def _unseen(calibration: Calibration, estimate: Estimate) -> tuple[str, ...]:
    names = {"sign": "sign", "method": "method", "group": "species group"}
    return tuple(
        f"No tree with the {said} {getattr(estimate, name)!r} was dissected yet: corrected as the whole, less surely."
        for name, said in names.items()
        if getattr(estimate, name) not in calibration.levels[FACTORS.index(name)]
    )


def shifted(section: Section, before: float, after: float) -> Section:
    """Move every read wall of a section by the logit shift that turns the fraction `before` into `after`.

    >>> from assessments.methods.section import circle
    >>> moved = shifted(Section(circle(80.0), (Reading(0.0, 20.0),)), 0.5, 0.4)
    >>> round(moved.readings[0].sound_wall_cm, 6)
    16.0
    """
    reach = section.outline.reach_cm(section.azimuths_deg)
    shift = float(logit(after) - logit(before))
    readings = tuple(_moved(r, float(full), shift) for r, full in zip(section.readings, reach, strict=True))
    return replace(section, readings=readings)


def _moved(reading: Reading, reach: float, shift: float) -> Reading:
    share = reading.sound_wall_cm / reach
    if not LEAST_FRACTION <= share < SOUND_FRACTION:
        return reading
    wall = reach * float(fraction(logit(share) + shift))
    void_to = None if reading.void_to_cm is None else max(reading.void_to_cm, wall)
    return replace(reading, sound_wall_cm=wall, void_to_cm=void_to)


def corrected_loss(section: Section, corrected: Corrected) -> Interval | None:
    """Loss of section modulus in % with every wall moved as the fraction was; None without readings or correction."""
    if not corrected.applied or not section.readings or section.voids:
        return None
    before, after = corrected.uncorrected.best, corrected.figure
    bare = replace(section, draws=0)
    best, low, high, low95, high95 = (
        assess(shifted(bare, before, end)).loss_percent.best_estimate
        for end in (after.best, after.high, after.low, after.high95, after.low95)
    )
    # A thinner wall loses more; cuts and cracks may bend that by a little, the order is kept.
    return Interval(best, min(low, best), max(high, best), min(low95, low, best), max(high95, high, best))
