"""Frontal shapes of crowns by habit, and the force and moment of wind on them, vectorised over trees.

Shapes are the project's choice of plain geometry; force = pressure x drag x area, slice by slice (textbook).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from .profile import Floats, Wind

METHOD: Final = "crown_wind_force"
VERSION: Final = 1

Profile: TypeAlias = Callable[[Floats], Floats]

_OVOID_WIDEST: Final = 1 / 3


def _egg(share: Floats, widest: float) -> Floats:
    """Two half ellipses that meet at the widest height."""
    below = np.clip((widest - share) / widest, 0, 1)
    above = np.clip((share - widest) / (1 - widest), 0, 1)
    return np.asarray(np.sqrt(1 - np.maximum(below, above) ** 2))


# Width over greatest width, by share of the crown's length from its base (0) to its top (1).
SHAPES: Final[Mapping[str, Profile]] = MappingProxyType(
    {
        "ellipse": lambda s: 2 * np.sqrt(np.maximum(s * (1 - s), 0)),
        "egg": lambda s: _egg(s, _OVOID_WIDEST),
        "inverted_egg": lambda s: _egg(s, 1 - _OVOID_WIDEST),
        "cone": lambda s: 1 - s,
        "paraboloid": lambda s: np.sqrt(np.maximum(1 - s, 0)),
        "dome": lambda s: np.sqrt(np.maximum(1 - s * s, 0)),
        "column": lambda s: np.maximum(1 - (2 * s - 1) ** 4, 0) ** 0.25,
        "rectangle": lambda s: np.ones_like(s),
    }
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


@dataclass(frozen=True)
class Crowns:
    """Crowns of trees of one shape as arrays of one form (n,): top, base and greatest width in m, drag coefficient.

    `cut_*` describe what a reduction leaves: the old crown's outline cut by the new one's.
    """

    height_m: Floats
    base_m: Floats
    width_m: Floats
    drag: Floats
    shape: str = "ellipse"
    cut_height_m: Floats | None = None
    cut_width_m: Floats | None = None

    @classmethod
    def of(
        cls,
        height_m: npt.ArrayLike,
        base_m: npt.ArrayLike,
        width_m: npt.ArrayLike,
        drag: npt.ArrayLike,
        shape: str = "ellipse",
    ) -> "Crowns":
        """Make crowns of numbers or arrays. Raises ValueError for an unknown shape or a base above the top."""
        if shape not in SHAPES:
            raise ValueError(f"shape: {shape!r} is not one of {', '.join(SHAPES)}")
        given = (np.atleast_1d(np.asarray(value, np.float64)) for value in (height_m, base_m, width_m, drag))
        height, base, width, cd = np.broadcast_arrays(*given)
        if np.any(base >= height):
            raise ValueError("base_m: must lie below the top")
        return cls(height, base, width, cd, shape)

    @property
    def top_m(self) -> Floats:
        """Top of what stands."""
        return self.height_m if self.cut_height_m is None else self.cut_height_m

    def width_at(self, height_m: Floats) -> Floats:
        """Frontal width in m at heights (n, k); 0 outside the crown."""
        width = _width(self.shape, height_m, self.base_m, self.height_m, self.width_m)
        if self.cut_height_m is None or self.cut_width_m is None:
            return width
        return np.minimum(width, _width(self.shape, height_m, self.base_m, self.cut_height_m, self.cut_width_m))

    def integral(self, of: Callable[[Floats], Floats], above_m: npt.ArrayLike = 0.0) -> Floats:
        """Integrate a function of height times frontal width over the crown above a height; (n,)."""
        low = np.minimum(np.maximum(self.base_m, np.asarray(above_m, np.float64)), self.top_m)
        # Heights crowd toward both ends, where an ellipse's width has a vertical tangent.
        angle = np.pi * (_NODES + 1) / 2
        share, step = (1 - np.cos(angle)) / 2, np.sin(angle) / 2 * _WEIGHTS * np.pi / 2
        length = (self.top_m - low)[..., None]
        heights = low[..., None] + length * share
        return np.asarray((of(heights) * self.width_at(heights) * step * length).sum(-1))

    @property
    def area_m2(self) -> Floats:
        """Frontal area in m2, (n,).

        >>> Crowns.of(18.0, 4.0, 10.0, 0.25).area_m2.round(3).tolist()
        [109.956]
        """
        return self.integral(np.ones_like)

    def reduced(self, height_share: float, width_share: float, regrown_m: float = 0.0) -> "Crowns":
        """Shorten the crown by a share of its length and narrow it by a share of its width, less what has regrown."""
        cut = self.height_m - height_share * (self.height_m - self.base_m) + regrown_m
        width = self.width_m * (1 - width_share) + 2 * regrown_m
        return Crowns(
            self.height_m,
            self.base_m,
            self.width_m,
            self.drag,
            self.shape,
            np.minimum(cut, self.height_m),
            np.minimum(width, self.width_m),
        )


def _width(shape: str, height_m: Floats, base_m: Floats, top_m: Floats, width_m: Floats) -> Floats:
    share = (height_m - base_m[..., None]) / (top_m - base_m)[..., None]
    inside = (share >= 0) & (share <= 1)
    return np.where(inside, width_m[..., None] * SHAPES[shape](np.clip(share, 0, 1)), 0.0)


def force_kn(crowns: Crowns, wind: Wind, above_m: npt.ArrayLike = 0.0) -> Floats:
    """Give the wind force on the crowns above a height in kN, (n,).

    >>> crown = Crowns.of(18.0, 4.0, 10.0, 0.25)
    >>> force_kn(crown, Wind(25.0, "3s", 0.22)).round(3).tolist()
    [10.826]
    """
    return np.asarray(crowns.drag * crowns.integral(wind.pressure_n_m2, above_m) / 1000)


def moment_knm(crowns: Crowns, wind: Wind, at_m: npt.ArrayLike = 0.0) -> Floats:
    """Give the bending moment of the wind on the crowns about a height in kN m, (n,); only what is above counts.

    >>> moment_knm(Crowns.of(18.0, 4.0, 10.0, 0.25), Wind(25.0, "3s", 0.22), 1.0).round(3).tolist()
    [113.819]
    """
    at = np.asarray(at_m, np.float64)
    lever = crowns.integral(lambda z: wind.pressure_n_m2(z) * (z - at[..., None]), at)
    return np.asarray(crowns.drag * lever / 1000)
