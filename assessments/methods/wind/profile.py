"""Wind speed by height as a power law, the gust that belongs to a ten-minute mean, and pressure.

Power law and pressure are textbook; gust of a mean after EN 1991-1-4 clause 4.5 (from memory of the standard).
"""

import math
from collections.abc import Mapping
from csv import DictReader
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np
import numpy.typing as npt

METHOD: Final = "wind_power_law"
VERSION: Final = 1

Floats = npt.NDArray[np.float64]

AVERAGING: Final = ("3s", "10min")
# A setting of the city; hurricane force stands in until it is set. Common practice of wind-load checks.
DEFAULT_V10_M_S: Final = 33.0
AIR_KG_M3: Final = 1.225
REFERENCE_HEIGHT_M: Final = 10.0
# EN 1991-1-4: peak pressure = (1 + 2 x 3.5 x intensity) x mean pressure.
PEAK_FACTOR: Final = 3.5
# Below this multiple of the roughness length turbulence intensity is held: project's choice, EN 1991-1-4 uses a
# lowest height by terrain in its place.
_LEAST_HEIGHT_OF_ROUGHNESS: Final = 10.0
# Smoother than any surface; keeps the roughness length above nothing.
_LEAST_EXPONENT: Final = 2e-3


def _exponents() -> Mapping[tuple[str, str], float]:
    text = (Path(__file__).parent / "exponents.csv").read_text(encoding="utf-8")
    rows = DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {(row["terrain"], row["averaging"]): float(row["exponent"]) for row in rows}


EXPONENTS: Final = MappingProxyType(_exponents())


@dataclass(frozen=True)
class Wind:
    """Wind at 10 m in m/s, how it is averaged, and the exponent of its rise with height (same averaging)."""

    v10_m_s: float = DEFAULT_V10_M_S
    averaging: str = "3s"
    exponent: float = EXPONENTS["suburb", "3s"]
    air_kg_m3: float = AIR_KG_M3

    def speed_m_s(self, height_m: npt.ArrayLike) -> Floats:
        """Give the speed at heights above ground, averaged as the wind is; 0 at the ground.

        >>> Wind(10.0, "10min", 0.22).speed_m_s([5.0, 10.0, 20.0]).round(3).tolist()
        [8.586, 10.0, 11.647]
        """
        return np.asarray(self.v10_m_s * (np.asarray(height_m, np.float64) / REFERENCE_HEIGHT_M) ** self.exponent)

    def gust_factor(self, height_m: npt.ArrayLike) -> Floats:
        """Give the 3-second gust over the speed: 1 for a gust, else the root of EN 1991-1-4's 1 + 7 x intensity.

        The roughness length is the one whose intensity at 10 m, 1 / ln(10 / z0), is the exponent.

        >>> round(float(Wind(10.0, "10min", 0.19).gust_factor(10.0)), 3)
        1.526
        """
        height = np.asarray(height_m, np.float64)
        if self.averaging == "3s":
            return np.ones_like(height)
        roughness_m = REFERENCE_HEIGHT_M * math.exp(-1 / max(self.exponent, _LEAST_EXPONENT))
        ratio = np.maximum(height, _LEAST_HEIGHT_OF_ROUGHNESS * roughness_m) / roughness_m
        return np.asarray(np.sqrt(1 + 2 * PEAK_FACTOR / np.log(ratio)))

    def gust_m_s(self, height_m: npt.ArrayLike) -> Floats:
        """Give the 3-second gust at heights above ground in m/s."""
        return np.asarray(self.speed_m_s(height_m) * self.gust_factor(height_m))

    def pressure_n_m2(self, height_m: npt.ArrayLike) -> Floats:
        """Give the pressure of the gust, half air density times speed squared, in N/m2.

        >>> round(float(Wind(20.0, "3s", 0.0).pressure_n_m2(10.0)), 1)
        245.0
        """
        return np.asarray(0.5 * self.air_kg_m3 * self.gust_m_s(height_m) ** 2)

    @property
    def gust_v10_m_s(self) -> float:
        """The 3-second gust at 10 m."""
        return float(self.gust_m_s(REFERENCE_HEIGHT_M))
