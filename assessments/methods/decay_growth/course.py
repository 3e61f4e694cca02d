"""Draws the course of decay over years: radius of wood and of decay in each draw, weighted by earlier measurements.

Contained: rings are added outside and decay keeps within the wood of the time of wounding. Breached: decay moves
outward as well. One seed gives one answer; each draw keeps its random numbers whatever the inputs are.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from . import choices
from .contract import Request

METHOD: Final = "decay_course_two_regimes"
VERSION: Final = 1

Floats = npt.NDArray[np.float64]
# Wound ages are remembered to about a seventh (project's choice); an edge this far outside wall 4 has passed it.
_AGE_SPREAD: Final = 0.15
_PASSED_CM: Final = 0.5


@dataclass(frozen=True)
class Course:
    """Years from now (y,); by draw and year (n, y): radius of wood and of weakened wood, in cm, without bark."""

    years: npt.NDArray[np.int64]
    wood_cm: Floats
    decay_cm: Floats
    breached: npt.NDArray[np.bool_]
    effective_draws: float

    @property
    def t_over_r(self) -> Floats:
        """Sound wall over radius, (n, y)."""
        return np.asarray(1 - self.decay_cm / self.wood_cm)

    @property
    def loss_percent(self) -> Floats:
        """Loss of section modulus of a concentric hollow with that wall all round, (n, y)."""
        return np.asarray(100 * (self.decay_cm / self.wood_cm) ** 4)


@dataclass(frozen=True)
class _Drawn:
    """One value a draw: cm, cm a year, years."""

    wall_cm: Floats
    ring_cm: Floats
    spread_cm: Floats
    wound_years: Floats | None
    chance: Floats


def breach_log_odds(request: Request) -> list[tuple[str, str, float]]:
    """Give what speaks for and against breached decay, as (input, word, log-odds)."""
    found = [("walling", request.walling, choices.odds("walling", request.walling))]
    fungus = choices.FUNGI.get(request.fungus)
    if fungus is not None:
        word = "breaches" if fungus.breaches else "other"
        sure = choices.odds("confidence", request.fungus_confidence)
        found.append(("fungus", word, sure * choices.odds("fungus", word)))
    found.append(("rot", request.rot, choices.odds("rot", request.rot)))
    seen = (("response_growth", request.response_growth), ("vitality", request.vitality))
    found.extend((name, word, choices.odds(name, word)) for name, word in seen if word)
    if request.wound_width_cm is not None:
        size = "large" if request.wound_width_cm > choices.rate("wound_limit", request.walling).median else "small"
        found.append(("wound", size, choices.odds("wound", size)))
    return [part for part in found if part[2]]


def allowance_cm(request: Request) -> float:
    """Give the width of weakened wood beyond the visible edge: as given, else by rot."""
    given = request.allowance_cm
    return choices.rate("allowance", request.rot).median if given is None else given


def age_limit_cm(diameter_cm: npt.ArrayLike, ring_width_cm: npt.ArrayLike, years: npt.ArrayLike) -> Floats:
    """Give the diameter of the stem when it was wounded, all that contained decay can take: CODIT's wall 4.

    >>> float(age_limit_cm(60.0, 0.4, 20.0))
    44.0
    """
    grown = 2 * np.asarray(ring_width_cm, np.float64) * np.asarray(years, np.float64)
    return np.asarray(np.maximum(np.asarray(diameter_cm, np.float64) - grown, 0.0))


def draw(request: Request) -> Course:
    """Draw the course of a request with one inside measurement or more. Raises ValueError without any."""
    if not request.measured:
        raise ValueError("measured: one inside measurement or more")
    newest, *older = sorted(request.measured, key=lambda one: one.years_ago)
    drawn = _drawn(request, newest.sound_wall_cm, newest.error_cm)
    since = newest.years_ago
    # Radii of wood and of visible decay when the newest measurement was made.
    wood = np.maximum(request.diameter_cm / 2 - drawn.ring_cm * since, 1e-6)
    visible = np.clip(wood - drawn.wall_cm, 0, wood)
    limit: Floats | None = None
    if drawn.wound_years is not None:
        limit = age_limit_cm(request.diameter_cm, drawn.ring_cm, drawn.wound_years) / 2
    breached = drawn.chance < choices.chance(sum(part[2] for part in breach_log_odds(request)))
    if limit is not None:
        breached = breached | (visible > limit + _PASSED_CM)
    weights = np.zeros(request.draws)
    for one in older:
        back = one.years_ago - since
        then = np.where(breached, np.maximum(visible - drawn.spread_cm * back, 0), visible)
        misfit = wood - drawn.ring_cm * back - then - one.sound_wall_cm
        weights -= 0.5 * (misfit / np.hypot(max(one.error_cm, 0.1), 0.1)) ** 2
    picked, effective = _picked(weights)
    years = np.arange(request.horizon_years + 1)
    room = None if limit is None else np.maximum(limit, visible).astype(np.float64)[picked, None]
    drawn_decay = _spread(visible, drawn.spread_cm, breached, room, picked, years.astype(np.float64) + since)
    radius = (request.diameter_cm / 2 + drawn.ring_cm[picked, None] * years).clip(1e-6)
    return Course(years, radius, np.clip(drawn_decay + allowance_cm(request) * (drawn_decay > 0), 0, radius),
                  breached[picked], effective)  # fmt: skip


def _spread(
    visible: Floats,
    spread: Floats,
    breached: npt.NDArray[np.bool_],
    room: Floats | None,
    picked: npt.NDArray[np.intp],
    elapsed: Floats,
) -> Floats:
    """Visible decay radius (n, y): outward without end where breached, up to wall 4 where contained and known."""
    start = visible[picked, None]
    moved = start + spread[picked, None] * elapsed * (start > 0)
    held = np.broadcast_to(start, moved.shape) if room is None else np.minimum(moved, room)
    return np.where(breached[picked, None], moved, held)


def _drawn(request: Request, wall_cm: float, error_cm: float) -> _Drawn:
    random = np.random.default_rng(request.seed)
    wall, ring, spread, age = random.standard_normal((4, request.draws))
    chance = random.random(request.draws)
    vigour = choices.rate("ring", request.vitality or "unknown")
    if request.ring_width_mm is not None:
        vigour = choices.Rate(request.ring_width_mm / 10, choices.rate("ring", "measured").spread)
    outward = choices.rate("spread_rate", request.walling)
    years = None if request.wound_years is None else request.wound_years * np.exp(_AGE_SPREAD * age)
    return _Drawn(
        wall_cm=np.maximum(wall_cm + error_cm * wall, 0),
        ring_cm=vigour.median * np.exp(vigour.spread * ring),
        spread_cm=outward.median * np.exp(outward.spread * spread),
        wound_years=years,
        chance=chance,
    )


def _picked(log_weights: Floats) -> tuple[npt.NDArray[np.intp], float]:
    """Systematic resampling: places of draws, as often as their weight asks; and the effective number of draws."""
    weights = np.exp(log_weights - log_weights.max())
    weights /= weights.sum()
    count = len(weights)
    steps = (np.arange(count) + 0.5) / count
    places = np.searchsorted(np.cumsum(weights), steps).clip(0, count - 1)
    return places, float(1 / (weights**2).sum())
