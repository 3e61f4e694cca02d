"""Kinds of street: how wide, where its trees stand, how many of the places are planted, and with what."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Kind:
    """One kind of street. Lengths in m; shares of all tree places; `era`: oldest and newest planting, years ago.

    `rows_m`: distance of each row of trees from the middle of the street. `lines`: overhead lines by share.
    """

    half_m: float
    rows_m: tuple[float, ...]
    apart_m: float
    planted: float
    vacant: float
    space: str
    strip_m: tuple[float, float]
    lines: tuple[tuple[str, float], ...]
    occupancy: str
    mix: str
    era: tuple[int, int]


_BURIED: Final = (("none", 0.97), ("communication", 0.03))
_OVERHEAD: Final = (("none", 0.55), ("communication", 0.2), ("low_voltage", 0.25))
_OUTSKIRTS: Final = (("none", 0.6), ("low_voltage", 0.28), ("high_voltage", 0.12))

KINDS: Final = {
    "avenue": Kind(7.5, (9.6,), 13.0, 0.93, 0.05, "strip", (2.0, 3.5), _BURIED, "frequent", "lime", (130, 70)),
    "ring": Kind(8.5, (10.6, 17.5), 12.0, 0.94, 0.04, "strip", (3.0, 4.5), _BURIED, "constant", "plane", (125, 90)),
    "embankment": Kind(
        5.5, (7.8,), 11.5, 0.93, 0.05, "cutout", (1.5, 2.2), _BURIED, "frequent", "plane", (115, 60)
    ),
    "square": Kind(4.0, (5.5,), 8.5, 0.9, 0.08, "cutout", (1.4, 2.0), _BURIED, "constant", "square", (60, 15)),
    "lane": Kind(3.2, (4.4,), 13.0, 0.3, 0.12, "planter", (0.9, 1.4), _BURIED, "frequent", "lane", (45, 6)),
    "grid": Kind(4.5, (5.9,), 11.5, 0.72, 0.14, "cutout", (1.2, 1.8), _OVERHEAD, "frequent", "grid", (68, 18)),
    "residential": Kind(
        3.5, (5.2,), 12.5, 0.7, 0.14, "strip", (1.5, 2.6), _OVERHEAD, "occasional", "residential", (52, 8)
    ),
    "garden": Kind(
        3.5, (5.6,), 11.5, 0.78, 0.1, "lawn", (2.2, 4.0), _OVERHEAD, "occasional", "garden", (85, 25)
    ),
    "quay": Kind(6.0, (8.2,), 12.5, 0.6, 0.18, "strip", (1.8, 3.0), _OUTSKIRTS, "occasional", "quay", (55, 12)),
}  # fmt: skip
