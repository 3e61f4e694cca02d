"""Calibration: how long a fit takes; coverage, selection, worlds that break the model, and nothing to learn.

Needs no database. Seeds were fixed before any result was seen.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.random import Generator

from assessments.methods.agreement import interval_score
from assessments.methods.calibration import Estimate, Row, correct_all, fit
from assessments.methods.calibration.normal import mixture_quantiles
from assessments.methods.calibration.posterior import Points
from assessments.methods.calibration.priors import PRIORS
from assessments.methods.calibration.rows import fraction, logit
from deploy.bench import opened, report, worlds
from deploy.bench.worlds import Floats, Rows, World

SEED: Final = 20261125
SIMULATIONS: Final = 2000
TREES: Final = 24
CUTS: Final = 6
LEVELS: Final = (0.025, 0.10, 0.90, 0.975)
NOTHING_TREES: Final = (0, 5, 20, 100)
_AT_ONCE: Final = 200
Opened = tuple[Rows, Floats]


def all_of(rng: Generator, world: World) -> Opened:
    """Open a chance sample of trees."""
    rows = worlds.rows(rng, TREES, CUTS)
    return rows, world.truth(rng, rows)


def by_estimate(rng: Generator, world: World) -> Opened:
    """Open only trees that were judged bad: their mean estimate lies below the centre."""
    rows = worlds.rows(rng, 6 * TREES, CUTS)
    return _worst(rows, world.truth(rng, rows), rows.design[:, 1])


def by_truth(rng: Generator, world: World) -> Opened:
    """Open only trees that were bad: their mean truth lies below the centre."""
    rows = worlds.rows(rng, 6 * TREES, CUTS)
    truth = world.truth(rng, rows)
    return _worst(rows, truth, truth)


def _worst(rows: Rows, truth: Floats, value: Floats) -> Opened:
    below = np.flatnonzero(worlds.mean_of_trees(rows, value) < 0)
    chosen = np.sort(below[:TREES] if len(below) else np.arange(TREES))
    return worlds.only(rows, chosen), truth[np.isin(rows.tree, chosen)]


@dataclass(frozen=True)
class Coverage:
    """Shares in % of truths inside their 95 and 80 % intervals, by column: new trees of each group, coefficients.

    `mean_error`: of intercept and slope, estimated less true; `slope_of_truth`: of true on estimated ones (1 is right).
    """

    new_trees: Floats  # (2, groups)
    coefficients: Floats  # (2, p)
    mean_error: Floats  # (2,)
    slope_of_truth: Floats  # (2,)
    effective_draws: float


def coverage(
    count: int,
    seed: int,
    make: Callable[[Generator], World] = worlds.drawn,
    choose: Callable[[Generator, World], Opened] = all_of,
) -> Coverage:
    """Simulate `count` cities. New trees are a chance sample of the city, however the opened ones were chosen."""
    rng = np.random.default_rng(seed)
    new, own, ess, pairs = [], [], [], []
    for first in range(0, count, _AT_ONCE):
        cities = [make(rng) for _ in range(min(_AT_ONCE, count - first))]
        points = worlds.fitted([worlds.opened(*choose(rng, city)) for city in cities])
        new.append(_new_trees(rng, cities, points))
        true = np.array([city.coefficients for city in cities])
        true[:, 1] -= PRIORS.slope_mean
        sd = np.sqrt(np.diagonal(points.covariance, axis1=-2, axis2=-1))
        own.append(_inside(np.swapaxes(points.mean, -1, -2), np.swapaxes(sd, -1, -2), true))
        pairs.append(np.stack([true[:, :2], points.mean.mean(1)[:, :2]]))
        ess.append(points.effective_draws)
    true, found = np.concatenate(pairs, 1)
    slopes = [float(np.polyfit(found[:, i], true[:, i], 1)[0]) for i in range(2)]
    return Coverage(
        100 * np.concatenate(new, 1).mean(1),
        100 * np.concatenate(own, 1).mean(1),
        (found - true).mean(0),
        np.array(slopes),
        float(np.concatenate(ess).mean()),
    )


def _new_trees(rng: Generator, cities: list[World], points: Points) -> Floats:
    rows = [worlds.rows(rng, worlds.GROUPS, 1) for _ in cities]
    truth = np.array([city.truth(rng, one) for city, one in zip(cities, rows, strict=True)])
    x, spread = np.array([one.design for one in rows]), np.array([one.spread for one in rows])
    mean = np.einsum("bgp,bkp->bgk", x, points.mean) + x[:, :, 1:2] * PRIORS.slope_mean
    variance = np.einsum("bgp,bkpq,bgq->bgk", x, points.covariance, x)
    variance += points.sizes[:, None, :, 1] ** 2 + (points.sizes[:, None, :, 0] * spread[..., None]) ** 2
    return _inside(mean, np.sqrt(variance), truth)


def _inside(mean: Floats, sd: Floats, truth: Floats) -> Floats:
    """Whether truths lie inside the 95 and the 80 % interval of their mixtures: (2, ...)."""
    low95, low, high, high95 = np.moveaxis(mixture_quantiles(mean, sd, LEVELS), -1, 0)
    return np.stack([(low95 <= truth) & (truth <= high95), (low <= truth) & (truth <= high)]).astype(np.float64)


def fixed_line(count: int, seed: int, choose: Callable[[Generator, World], Opened]) -> tuple[Floats, Floats]:
    """Fit `count` samples of one city with bias 0.4 and slope 0.8 and no other effects: mean line and its sd.

    The bias is that of the average kind of section: intercept and the effects' means together.
    """
    rng = np.random.default_rng(seed)
    coefficients = np.zeros(worlds.COLUMNS)
    coefficients[:2] = 0.4, 0.8
    city = World(coefficients, 0.25, 1.0)
    mean = worlds.fitted([worlds.opened(*choose(rng, city)) for _ in range(count)]).mean.mean(1)
    share = np.array([1.0, 0.0, *(1 / worlds.LEVELS[f - 2] for f in worlds.FACTOR[2:])])
    lines = np.column_stack([mean @ share, mean[:, 1] + PRIORS.slope_mean])
    return lines.mean(0), lines.std(0)


def nothing_to_learn(trees: int, cities: int, seed: int, tree_sd: float = 0.0) -> dict[str, float]:
    """Mean interval score of corrected intervals over that of the uncorrected ones, where those are right already.

    `tree_sd`: of what the cuts of a tree have in common; it is within the stated spread, at most 0.25. Scores of
    fractions, over 60 new sections a city; the truth of each is spread over its whole distribution.
    """
    rng = np.random.default_rng((seed, trees, round(100 * tree_sd)))
    total = {name: np.zeros(2) for name in ("80", "95")}
    for _ in range(cities):
        calibration = fit(right_rows(rng, trees, CUTS, tree_sd))
        new = [_estimate(row) for row in right_rows(rng, 60, 1, tree_sd)]
        parts = (np.arange(200) + 0.5) / 200
        z = np.sort(mixture_quantiles(np.zeros(1), np.ones(1), parts))
        for found in correct_all(calibration, new):
            before = found.uncorrected
            spread = (logit(before.high) - logit(before.low)) / (2 * 1.2815516)
            truth = fraction(logit(before.best) + spread * z)
            for name, share in (("80", 0.8), ("95", 0.95)):
                for place, figure in enumerate((found.figure, before)):
                    low, high = (figure.low, figure.high) if name == "80" else (figure.low95, figure.high95)
                    total[name][place] += float(interval_score(low, high, truth, share).mean())
    return {name: float(after / before) for name, (after, before) in total.items()}


def right_rows(rng: Generator, trees: int, cuts: int, tree_sd: float) -> list[Row]:
    """Rows whose estimates are right to their stated spread, of mixed signs, methods, groups and reasons."""
    found = []
    for tree in range(trees):
        level, common = rng.normal(-0.4, 0.6), rng.standard_normal()
        reason = ("predicted_weakness", "construction", "random_sample")[rng.integers(3)]
        for _ in range(cuts):
            x, spread = level + rng.normal(0, 0.4), float(rng.choice(worlds.SPREADS))
            off = tree_sd * common + np.sqrt(spread**2 - tree_sd**2) * rng.standard_normal()
            sign = ("none", "cavity", "fruiting_body", "seam")[rng.integers(4)]
            method = ("drilling", "sounding", "acoustic")[rng.integers(3)]
            estimated, truth = float(fraction(x)), float(fraction(x + off))
            found.append(Row(str(tree), estimated, truth, reason, sign, method, "abc"[tree % 3], spread))
    return found


def _estimate(row: Row) -> Estimate:
    return Estimate(row.estimated or 0.0, row.spread, row.sign, row.method, row.group)


def fit_seconds(trees: int, cuts: int) -> float:
    """Seconds of one fit, the best of three."""
    rows = right_rows(np.random.default_rng(SEED), trees, cuts, 0.2)
    found = []
    for _ in range(3):
        began = time.perf_counter()
        fit(rows)
        found.append(time.perf_counter() - began)
    return min(found)


WRONG: Final[dict[str, tuple[Callable[[Generator], World], Callable[[Generator, World], Opened]]]] = {
    "heavy tails (t with 3 degrees)": (lambda rng: worlds.drawn(rng, degrees=3.0), all_of),
    "selection on the truth": (worlds.drawn, by_truth),
    "twice the prior bias": (lambda rng: worlds.drawn(rng, bias=2.0), all_of),
}


def run(scale: int, as_json: bool) -> None:
    """Simulate `scale` cities of each kind, at most 2,000. The baseline are the two seconds that a fit may take."""
    count = min(scale, SIMULATIONS)
    report.say("fit")
    seconds = fit_seconds(500, 8)
    figures: dict[str, Any] = {"fit_500_trees_8_cuts_seconds": round(seconds, 3)}
    kinds = {"right": (worlds.drawn, all_of), "selection on the estimate": (worlds.drawn, by_estimate), **WRONG}
    for name, (make, choose) in kinds.items():
        report.say(name)
        figures[name] = _said(coverage(count, SEED, make, choose))
    report.say("nothing to learn")
    for tree_sd in (0.0, 0.2):
        ratios = {n: nothing_to_learn(n, 40, SEED, tree_sd) for n in NOTHING_TREES}
        figures[f"nothing to learn, sd {tree_sd:g} common to a tree"] = {
            str(n): {name: round(value, 4) for name, value in told.items()} for n, told in ratios.items()
        }
    report.say("opened stems")
    figures["opened stems, the rest of their kinds judged"] = opened.compare(8, SEED)
    report.finish("calibration", count, seconds / 2.0, figures, as_json=as_json)


def _said(found: Coverage) -> dict[str, Any]:
    return {
        "new_trees_95_80": found.new_trees.mean(1).round(1).tolist(),
        "coefficients_95_80": found.coefficients.mean(1).round(1).tolist(),
        "intercept_slope_95": found.coefficients[0, :2].round(1).tolist(),
        "mean_error": found.mean_error.round(3).tolist(),
        "slope_of_truth": found.slope_of_truth.round(3).tolist(),
        "effective_draws": round(found.effective_draws),
    }
