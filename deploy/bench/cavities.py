"""Invented cavities whose smoothness is not that of the model: merged discs, waves, ellipses, bulges.

Each is the radius of a void round the stem's centroid at every whole degree, in radii of the stem.
"""

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DEGREES: Final = np.arange(0.0, 360.0)
_TURN: Final = np.radians(DEGREES)
WIDEST: Final = 0.97
NARROWEST: Final = 0.02


def discs(rng: Generator) -> Floats:
    """Two to four round rots grown into each other, each with the centre inside: kinks where they meet."""
    edges = []
    for _ in range(int(rng.integers(2, 5))):
        radius = rng.uniform(0.25, 0.6)
        offset, toward = rng.uniform(0, 0.8) * radius, rng.uniform(0, 2 * np.pi)
        off = _TURN - toward
        edges.append(offset * np.cos(off) + np.sqrt(radius**2 - (offset * np.sin(off)) ** 2))
    return np.asarray(np.max(edges, axis=0))


def waves(rng: Generator, slope: float, size: float) -> Floats:
    """A mean radius with waves whose heights fall with a power of their number: the lower the slope, the rougher."""
    mean = rng.uniform(0.25, 0.7)
    number = np.arange(1, 40)
    height = size * np.exp(0.4 * rng.standard_normal()) * mean * number**-slope
    sine, cosine = rng.standard_normal((2, len(number))) * height
    return np.asarray(mean + cosine @ np.cos(np.outer(number, _TURN)) + sine @ np.sin(np.outer(number, _TURN)))


def ellipse(rng: Generator) -> Floats:
    """An ellipse off centre: as smooth as can be."""
    long = rng.uniform(0.25, 0.75)
    axes = np.array([long, long * rng.uniform(0.55, 1)])
    turn, toward = rng.uniform(0, np.pi), rng.uniform(0, 2 * np.pi)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    middle = rng.uniform(0, 0.3) * long * np.array([np.sin(toward), np.cos(toward)])
    u = np.stack([np.sin(_TURN), np.cos(_TURN)], 1) @ spin.T / axes
    p = -(spin @ middle) / axes
    a, b, c = (u**2).sum(1), u @ p, p @ p - 1
    return np.asarray((-b + np.sqrt(b * b - a * c)) / a)


def bulges(rng: Generator) -> Floats:
    """A round void with one to three local bulges or dents of 20 to 60 degrees."""
    mean = rng.uniform(0.2, 0.7)
    radius = np.full(len(DEGREES), mean)
    for _ in range(int(rng.integers(1, 4))):
        off = np.angle(np.exp(1j * (_TURN - rng.uniform(0, 2 * np.pi))))
        radius += mean * rng.uniform(-0.4, 0.7) * np.exp(-0.5 * (off / rng.uniform(0.3, 1.0)) ** 2)
    return radius


FAMILIES: Final[dict[str, Callable[[Generator], Floats]]] = {
    "merged discs": discs,
    "rough waves": lambda rng: waves(rng, 1.5, 0.10),
    "smooth waves": lambda rng: waves(rng, 3.0, 0.25),
    "ellipses": ellipse,
    "bulges": bulges,
}


def invent(family: str, count: int, rng: Generator) -> Floats:
    """Invent cavities of a family, (count, 360); those that leave no wall or no void somewhere are thrown away."""
    found: list[Floats] = []
    while len(found) < count:
        cavity = FAMILIES[family](rng)
        if cavity.max() < WIDEST and cavity.min() > NARROWEST:
            found.append(np.roll(cavity, int(rng.integers(360))))
    return np.array(found)
