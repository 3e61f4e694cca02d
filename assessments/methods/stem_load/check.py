"""Stress against green strength at each height of one tree: safety factors with bands, weakest height, critical gust.

Bands are 80 %: strength, drag and the section's loss taken as independent and log-normal (project's choice).
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from assessments.methods.wind import Crowns
from assessments.methods.wind.profile import Floats

from . import stress
from .forces import Forces, crown_of, forces
from .tree import Loss, Place, Tree

METHOD: Final = "stem_safety"
VERSION: Final = 1

STEP_M: Final = 0.1
# Half widths of an 80 % interval in standard deviations.
Z80: Final = 1.2816
_LEAST_LEFT: Final = 1e-3
_DIRECTIONS: Final = np.radians(np.arange(0.0, 360.0, 1.0))
NO_LOSS: Final = Loss(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Row:
    """The answer at one height: kN m, MPa, cm3; safety factors low, best, high; the gust ratio to the given wind."""

    height_m: float
    basis: str  # measured, between or sound
    diameter_cm: float
    modulus_cm3: float
    loss: Loss
    wind_knm: float
    standing_knm: float
    moment_knm: float
    bending_mpa: float
    axial_mpa: float
    safety: tuple[float, float, float]
    rupture_factor: float | None
    speed_ratio: tuple[float, float, float]

    @property
    def stress_mpa(self) -> float:
        """Bending and weight together."""
        return self.bending_mpa + self.axial_mpa


@dataclass(frozen=True)
class Result:
    """Rows at the heights asked for, the weakest row of the whole stem, and that whose critical gust is least."""

    rows: tuple[Row, ...]
    weakest: Row
    first_to_fail: Row
    crown: Crowns
    crown_force_kn: float

    def critical_gust_m_s(self, tree: Tree) -> tuple[float, float, float]:
        """Give the 3-second gust at 10 m at which the first height reaches its strength: low, best, high."""
        low, best, high = (ratio * tree.wind.gust_v10_m_s for ratio in self.first_to_fail.speed_ratio)
        return low, best, high


def check(tree: Tree, crown: Crowns | None = None) -> Result:
    """Compute a tree with its crown, or with another one (a reduction)."""
    stands = crown or crown_of(tree)
    asked = tuple(sorted(place.height_m for place in tree.places)) or default_heights(tree)
    top = highest_m(tree)
    grid = np.unique(np.round([*np.arange(0.0, top, STEP_M), *asked, top], 3))
    grid = grid[grid < float(stands.top_m[0])]
    loads = forces(tree, stands, grid)
    every = [_row(tree, loads, place) for place in range(len(grid))]
    at = {row.height_m: row for row in every}
    return Result(
        rows=tuple(at[round(height, 3)] for height in asked if round(height, 3) in at),
        weakest=min(every, key=lambda row: row.safety[1]),
        first_to_fail=min(every, key=lambda row: row.speed_ratio[1]),
        crown=stands,
        crown_force_kn=loads.crown_force_kn,
    )


def highest_m(tree: Tree) -> float:
    """Give the height above which nothing is said: the crown's base, or the highest place that was measured.

    Up to the crown's base one stem carries the whole crown; above it the limbs share it, and the taper is a guess.
    """
    measured = (place.height_m for place in tree.places if place.measured)
    return max(tree.crown_base_m, tree.stem.points[-1][0], *measured, 0.0)


def default_heights(tree: Tree) -> tuple[float, ...]:
    """Give every metre, or a twentieth of a tall stem, from the ground to the highest one."""
    top = highest_m(tree)
    return tuple(np.unique([*np.round(np.arange(0.0, top, max(1.0, top / 20)), 3), top]).tolist())


def _row(tree: Tree, loads: Forces, place: int) -> Row:
    height = float(loads.heights_m[place])
    known, basis = section_at(tree, height)
    diameter = float(tree.stem.wood_cm(height))
    sound_cm3 = float(tree.stem.modulus_cm3(height))
    wind, standing = float(loads.wind_knm[place]), loads.standing_knm[place]
    axial = float(loads.axial_kn[place])
    strength = tree.strength.compression_mpa
    loss = _loss(known, sound_cm3)
    if known is not None and known.section is not None:
        found = _measured(tree, known, wind, standing, axial)
    else:
        found = _round(tree, sound_cm3 * (1 - loss.best), diameter, wind, standing, axial)
    total = found.bending + found.axial
    best = strength / total if total > 0 else math.inf
    down, up = half_widths(tree, loss)
    rupture = tree.strength.rupture_mpa
    return Row(
        height, basis, float(tree.stem.diameter_cm(height)), found.modulus, loss, wind, float(np.hypot(*standing)),
        found.moment, found.bending, found.axial, (best * math.exp(-down), best, best * math.exp(up)),
        rupture / total if rupture and total > 0 else None,
        (found.speed(strength * math.exp(-down)), found.speed(strength), found.speed(strength * math.exp(up))),
    )  # fmt: skip


def half_widths(tree: Tree, loss: Loss) -> tuple[float, float]:
    """Give the half widths of the 80 % band of the logarithm of the safety factor, downward and upward."""
    scatter = Z80 * math.sqrt(math.log1p(tree.strength.variation**2))
    left = max(1 - loss.best, _LEAST_LEFT)
    worse = math.log(left / max(1 - loss.high, _LEAST_LEFT))
    better = math.log(max(1 - loss.low, _LEAST_LEFT) / left)
    drag = tree.drag
    return (
        math.hypot(scatter, worse, math.log(drag.high / drag.best)),
        math.hypot(scatter, better, math.log(drag.best / drag.low)),
    )


def section_at(tree: Tree, height_m: float) -> tuple[Place | None, str]:
    """Give what is known of the section at a height: measured there, between two measured ones, or taken as sound."""
    measured = sorted((place for place in tree.places if place.measured), key=lambda place: place.height_m)
    for place in measured:
        if abs(place.height_m - height_m) < 5e-4:
            return place, "measured"
    below = [place for place in measured if place.height_m < height_m]
    above = [place for place in measured if place.height_m > height_m]
    if not below or not above:
        return None, "sound"
    first, second = below[-1], above[0]
    share = (height_m - first.height_m) / (second.height_m - first.height_m)
    a, b = (_loss(place, float(tree.stem.modulus_cm3(place.height_m))) for place in (first, second))
    mixed = Loss(*((1 - share) * x + share * y for x, y in zip(_values(a), _values(b), strict=True)))
    return Place(height_m, loss=mixed), "between"


def _values(loss: Loss) -> tuple[float, float, float]:
    return loss.low, loss.best, loss.high


def _loss(place: Place | None, sound_cm3: float) -> Loss:
    if place is None:
        return NO_LOSS
    if place.section is not None:
        percent = place.section.loss_percent
        return Loss(percent.low / 100, percent.best_estimate / 100, percent.high / 100)
    if place.modulus_cm3 is not None:
        lost = max(1 - place.modulus_cm3 / sound_cm3, 0.0)
        return Loss(lost, lost, lost)
    return place.loss or NO_LOSS


@dataclass(frozen=True)
class _Found:
    """Stress of one section, and how its critical speed ratio follows from a strength."""

    modulus: float
    moment: float
    bending: float
    axial: float
    wind: float
    standing: Floats
    toward: float | None
    body: stress.Body | None

    def speed(self, strength_mpa: float) -> float:
        """Wind speed, as a multiple of the one given, at which the strength is reached."""
        spare = strength_mpa - self.axial
        if self.body is not None:
            return stress.speed_ratio(self.body, _sides(self.wind, self.toward), self.standing, spare)
        return stress.round_speed_ratio(self.modulus, self.wind, self.standing, spare, self.toward)


def _sides(wind_knm: float, toward_deg: float | None) -> Floats:
    angles = _DIRECTIONS if toward_deg is None else np.radians([toward_deg])
    return np.asarray(wind_knm * np.stack([np.cos(angles), np.sin(angles)], -1))


def _measured(tree: Tree, place: Place, wind: float, standing: Floats, axial: float) -> _Found:
    assert place.section is not None  # noqa: S101 - asked by _row
    body = stress.measured_body(place.section)
    moments = _sides(wind, tree.wind_toward_deg) + standing
    each = stress.bending_mpa(body, moments)
    governs = int(each.argmax())
    moment = float(np.hypot(*moments[governs]))
    bending = float(each[governs])
    modulus = moment / bending * stress.MPA_PER_KNM_CM3 if bending else place.section.worst.modulus_cm3
    weight = stress.axial_mpa(body, axial)
    return _Found(modulus, moment, bending, weight, wind, standing, tree.wind_toward_deg, body)


def _round(tree: Tree, modulus: float, diameter: float, wind: float, standing: Floats, axial: float) -> _Found:
    moment = stress.greatest_moment(wind, standing, tree.wind_toward_deg)
    sound = math.pi * diameter**3 / 32
    # Of a hollow at least the share of the area stands that stands of the modulus.
    area = math.pi * diameter**2 / 4 * min(modulus / sound, 1.0)
    modulus = max(modulus, sound * _LEAST_LEFT)
    bending = moment / modulus * stress.MPA_PER_KNM_CM3
    weight = axial / max(area, sound * _LEAST_LEFT / diameter) * stress.KN_CM2_TO_MPA
    return _Found(modulus, moment, bending, weight, wind, standing, tree.wind_toward_deg, None)


def after_reduction(tree: Tree, years: float) -> Result:
    """Compute a tree as its reduction leaves it after so many years of regrowth. Raises ValueError without one."""
    cut = tree.reduction
    if cut is None:
        raise ValueError("reduction: is missing")
    crown = crown_of(tree).reduced(cut.length_share, cut.width_share, cut.regrowth_m_per_year * years)
    heights = tuple(place for place in tree.places if place.measured)
    return check(replace(tree, places=heights), crown)
