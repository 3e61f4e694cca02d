"""Section modulus toward any azimuth with unsymmetrical bending, and its worst value over all of them in closed form.

Plane sections stay plane; longitudinal shear, torsion and shell buckling lie outside. Textbook mechanics.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from .integrals import Floats, Shape

METHOD: Final = "section_modulus_unsymmetrical_bending"
VERSION: Final = 1

_TIE: Final = 1 - 1e-9


def stress_terms(inertia: npt.ArrayLike, offsets: npt.ArrayLike) -> Floats:
    """Give [A, B] with stress(b) = A cos b + B sin b under a unit moment toward azimuth b; compression is negative.

    `inertia` (..., 3) is [I_xx, I_yy, I_xy] about the centroid (cm4), `offsets` (..., n, 2) are the fibres from it
    (cm). The moment toward b is (-cos b, sin b).

    >>> stress_terms([1.0, 1.0, 0.0], [[0.0, 2.0]]).tolist()  # north fibre, bent toward north: pressed
    [[-2.0, 0.0]]
    """
    given = np.asarray(inertia, np.float64)[..., None, :]
    ixx, iyy, ixy = given[..., 0], given[..., 1], given[..., 2]
    x, y = np.moveaxis(np.asarray(offsets, np.float64), -1, 0)
    # + 0.0 turns a negative zero into zero.
    return np.stack([ixy * x - iyy * y, ixy * y - ixx * x], -1) / (ixx * iyy - ixy**2)[..., None] + 0.0


@dataclass(frozen=True)
class Worst:
    """The least section modulus over all azimuths, and where: the load's axis and the side that is pressed."""

    modulus_cm3: float
    azimuth_deg: float  # in [0, 180)
    compression_azimuth_deg: float  # in [0, 360): bent this way the extreme fibre is in compression


@dataclass(frozen=True)
class Bending:
    """The stress terms of every fibre of a section: all that bending asks of it."""

    terms: Floats  # (n, 2) of stress_terms

    def modulus_cm3(self, azimuth_deg: npt.ArrayLike) -> Floats:
        """W(b) = 1 / max |stress| toward each azimuth; same shape as given.

        >>> bool(abs(whole(square(2.0)).modulus_cm3(0.0) - 8 / 6) < 1e-12)
        True
        """
        b = np.radians(np.asarray(azimuth_deg, np.float64))
        stress = np.cos(b)[..., None] * self.terms[:, 0] + np.sin(b)[..., None] * self.terms[:, 1]
        return np.asarray(1 / np.abs(stress).max(-1))

    def worst(self) -> Worst:
        """The least W over all azimuths: each fibre's stress is a sinusoid of the azimuth, so its peak is known.

        >>> round(whole(square(2.0)).worst().azimuth_deg, 6)  # across the diagonal
        45.0
        """
        peaks = np.hypot(self.terms[:, 0], self.terms[:, 1])
        extreme = self.terms[peaks >= peaks.max() * _TIE]
        pressed = np.degrees(np.arctan2(-extreme[:, 1], -extreme[:, 0])) % 360
        pressed[pressed > 360 - 1e-9] = 0.0
        # Of several equally bad fibres the least azimuth, so that the answer does not hang on rounding.
        first = int(np.lexsort((pressed, (pressed % 180).round(9)))[0])
        return Worst(float(1 / peaks.max()), float(pressed[first] % 180), float(pressed[first]))


def whole(shape: Shape) -> Bending:
    """Bending of one body: a connected section, or parts in full composite action."""
    inertia = (shape.ixx_cm4, shape.iyy_cm4, shape.ixy_cm4)
    return Bending(stress_terms(inertia, shape.vertices_cm - np.asarray(shape.centroid_cm)))


def apart(pieces: Sequence[Shape]) -> Bending:
    """Bending of pieces without composite action: equal curvature, each about its own centroid.

    The pieces share one curvature, so their second moments add and each fibre counts from its own piece's centroid.

    >>> pair = apart([square(2.0), square(2.0)]).worst().modulus_cm3
    >>> round(pair / whole(square(2.0)).worst().modulus_cm3, 9)
    2.0
    """
    inertia = np.sum([(p.ixx_cm4, p.iyy_cm4, p.ixy_cm4) for p in pieces], 0)
    offsets = [p.vertices_cm - np.asarray(p.centroid_cm) for p in pieces]
    return Bending(stress_terms(inertia, np.concatenate(offsets)))


def square(side_cm: float) -> Shape:
    """A sound square section, for examples.

    >>> round(square(2.0).ixx_cm4, 9) == round(16 / 12, 9)
    True
    """
    half = side_cm / 2
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return Shape(side_cm**2, (0.0, 0.0), side_cm**4 / 12, side_cm**4 / 12, 0.0, corners)


def losses(residual: Bending, sound: Bending, azimuth_deg: npt.ArrayLike) -> Floats:
    """Loss in % toward each azimuth against the sound section at the same azimuth; never below 0.

    A modulus above the sound one (a removed ridge) is no gain in strength and counts as no loss.

    >>> losses(whole(square(2.0)), whole(square(2.0)), [0.0, 30.0]).tolist()
    [0.0, 0.0]
    """
    ratio = residual.modulus_cm3(azimuth_deg) / sound.modulus_cm3(azimuth_deg)
    # What rounding leaves of an equal modulus is no loss either.
    return np.where(ratio < 1 - 1e-12, 100 * (1 - ratio), 0.0)


def largest_loss(residual: Bending, sound: Bending) -> tuple[float, float]:
    """Give the largest loss over all azimuths in %, and its azimuth in [0, 180).

    >>> largest_loss(whole(square(2.0)), whole(square(2.0)))
    (0.0, 0.0)
    """
    coarse = np.arange(0.0, 180.0, 0.5)
    best = float(coarse[losses(residual, sound, coarse).argmax()])
    fine = np.linspace(best - 0.5, best + 0.5, 101)
    found = losses(residual, sound, fine)
    if found.max() <= 1e-9:
        return 0.0, 0.0
    azimuth = round(float(fine[found.argmax()]), 6) % 180
    return float(found.max()), azimuth
