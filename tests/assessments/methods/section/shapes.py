"""Shapes and requests for the tests of sections: circles, wedges, readings of a known void."""

import math
from typing import Any

import numpy as np

Ring = list[list[float]]


def ring(radius: float, centre: tuple[float, float] = (0.0, 0.0), vertices: int = 720) -> Ring:
    """A circle as a polygon."""
    turn = [2 * math.pi * i / vertices for i in range(vertices)]
    return [[centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)] for t in turn]


def toward(azimuth_deg: float, distance: float) -> tuple[float, float]:
    """A point at a distance toward an azimuth clockwise from north: [east, north]."""
    b = math.radians(azimuth_deg)
    return distance * math.sin(b), distance * math.cos(b)


def wedge(azimuth_deg: float, angle_deg: float, reach: float) -> Ring:
    """A sector from the centre out beyond the surface."""
    azimuths = np.linspace(azimuth_deg - angle_deg / 2, azimuth_deg + angle_deg / 2, 91)
    return [[0.0, 0.0], *([list(toward(float(a), reach)) for a in azimuths])]


def even_readings(wall_cm: float, count: int = 8, **more: Any) -> list[dict[str, Any]]:
    """The same wall all round."""
    return [{"azimuth_deg": 360 * i / count, "sound_wall_cm": wall_cm, **more} for i in range(count)]


def eccentric_wall(radius: float, hole: float, offset: float, hole_azimuth: float, azimuth: float) -> float:
    """Wall along a ray to the centre of a stem whose round hole lies off centre but contains the centre."""
    b = math.radians(azimuth - hole_azimuth)
    return radius - (offset * math.cos(b) + math.sqrt(hole**2 - (offset * math.sin(b)) ** 2))


def cracks(*azimuths_deg: float, gap: float = 0.0, inner: float = 0.0) -> list[dict[str, float]]:
    """Radial cracks."""
    return [{"azimuth_deg": a, "gap_to_edge_cm": gap, "inner_radius_cm": inner} for a in azimuths_deg]
