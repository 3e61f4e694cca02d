"""Stress in the outer fibres of sections under wind and standing moments from any side; the gust that exhausts it.

Each fibre's stress is linear in the moment's two parts, so the gust is found in closed form, fibre by fibre.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.section.answer import Answer
from assessments.methods.wind.profile import Floats

METHOD: Final = "fibre_stress"
VERSION: Final = 1

# kN m on cm3 to MPa.
MPA_PER_KNM_CM3: Final = 1000.0
KN_CM2_TO_MPA: Final = 10.0


@dataclass(frozen=True)
class Body:
    """What a section offers: fibre terms (f, 2) in 1/cm3 toward north and east, and area in cm2."""

    terms: Floats
    area_cm2: float


def round_body(modulus_cm3: float, area_cm2: float, azimuths_deg: npt.ArrayLike) -> Body:
    """Make a section with one modulus toward every azimuth; `azimuths_deg` (f,) are where its fibres lie.

    >>> float(bending_mpa(round_body(1000.0, 500.0, [0.0]), np.array([[2.0, 0.0]]))[0])
    2.0
    """
    b = np.radians(np.asarray(azimuths_deg, np.float64))
    return Body(-np.stack([np.cos(b), np.sin(b)], -1) / modulus_cm3, area_cm2)


def measured_body(answer: Answer) -> Body:
    """Take the section computed from readings or drawings, bending as it reports it."""
    return Body(answer.bounds.reported.terms, answer.bounds.shape.area_cm2)


def bending_mpa(body: Body, moments_knm: Floats) -> Floats:
    """Give the greatest fibre stress in MPa under moments (m, 2) toward north and east; (m,)."""
    return np.asarray(np.abs(moments_knm @ body.terms.T).max(-1) * MPA_PER_KNM_CM3)


def axial_mpa(body: Body, axial_kn: float) -> float:
    """Give the stress of the weight above in MPa."""
    return axial_kn / body.area_cm2 * KN_CM2_TO_MPA


def speed_ratio(body: Body, wind_knm: Floats, standing_knm: Floats, spare_mpa: float) -> float:
    """Give the wind speed, as a multiple of the one given, at which a fibre reaches what weight leaves of the strength.

    `wind_knm` (m, 2) are wind moments from m sides, `standing_knm` (2,) the moment without wind. 0: without any
    wind; infinite: wind never does.

    >>> round(speed_ratio(round_body(1000.0, 500.0, [0.0]), np.array([[2.0, 0.0]]), np.zeros(2), 8.0), 6)
    2.0
    """
    pushed = wind_knm @ body.terms.T * MPA_PER_KNM_CM3
    held = standing_knm @ body.terms.T * MPA_PER_KNM_CM3
    if spare_mpa <= 0 or np.abs(held).max() >= spare_mpa:
        return 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        squares = np.where(pushed == 0, np.inf, (spare_mpa - np.sign(pushed) * held) / np.abs(pushed))
    return float(np.sqrt(squares.min()))


def greatest_moment(wind_knm: float, standing_knm: Floats, toward_deg: float | None) -> float:
    """Give the greatest total moment: wind toward one azimuth, or (None) from whichever side is worst.

    >>> greatest_moment(3.0, np.array([0.0, 4.0]), 0.0), greatest_moment(3.0, np.array([0.0, 4.0]), None)
    (5.0, 7.0)
    """
    if toward_deg is None:
        return wind_knm + float(np.hypot(*standing_knm))
    b = np.radians(toward_deg)
    return float(np.hypot(wind_knm * np.cos(b) + standing_knm[0], wind_knm * np.sin(b) + standing_knm[1]))


def round_speed_ratio(
    modulus_cm3: float, wind_knm: float, standing_knm: Floats, spare_mpa: float, toward_deg: float | None
) -> float:
    """Give `speed_ratio` of a section with one modulus toward every azimuth, in closed form.

    >>> round_speed_ratio(1000.0, 2.0, np.zeros(2), 8.0, None)
    2.0
    """
    most = modulus_cm3 * spare_mpa / MPA_PER_KNM_CM3
    held = float(np.hypot(*standing_knm))
    if spare_mpa <= 0 or held >= most:
        return 0.0
    if wind_knm <= 0:
        return float("inf")
    b = 0.0 if toward_deg is None else np.radians(toward_deg)
    along = held if toward_deg is None else float(standing_knm @ np.array([np.cos(b), np.sin(b)]))
    square = (-along + np.sqrt(max(along**2 - held**2 + most**2, 0.0))) / wind_knm
    return float(np.sqrt(square))
