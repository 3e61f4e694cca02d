"""The plan of a sample's places: dots on a plain ground, strays at its edge, a scale bar, north. No tiles of a map."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from api.pages.svg import round_length
from inventory.rules import FOOT_M

_WIDTH: Final = 640.0
_MARGIN: Final = 30.0
_M_PER_DEGREE: Final = 111_195.0
_MILE_M: Final = 5280 * FOOT_M
# The units of the scale bar, each with the length (m) from which it is used.
_SCALES: Final = {
    "si": (("km", 1000.0, 1000.0), ("m", 1.0, 0.0)),
    "us": (("mi", _MILE_M, _MILE_M / 2), ("ft", FOOT_M, 0.0)),
}
# A line of no length is drawn as the round end of its stroke.
_DOT: Final = "h0"
_SHAPES: Final = {
    "appeared": "m-5 0h10m-5 -5v10",
    "vanished": "m-4 -4l8 8m0 -8l-8 8",
    "moved": "m-4.500 0a4.500 4.500 0 1 0 9 0a4.500 4.500 0 1 0 -9 0",
}
Pair = Sequence[float]


@dataclass(frozen=True)
class _Frame:
    """Degrees to drawing units: about the middle of the places a plane is true enough."""

    lon: float
    lat: float
    scale: float
    height: float

    def at(self, point: Pair) -> tuple[float, float]:
        east_m = _around(point[0] - self.lon) * _M_PER_DEGREE * math.cos(math.radians(self.lat))
        north_m = (point[1] - self.lat) * _M_PER_DEGREE
        return _WIDTH / 2 + east_m * self.scale, self.height / 2 - north_m * self.scale

    def clamped(self, point: Pair) -> tuple[float, float]:
        """The same, on the edge where it lies beyond."""
        x, y = self.at(point)
        half = _MARGIN / 2
        return min(max(x, half), _WIDTH - half), min(max(y, half), self.height - half)


def draw(
    title: str, layers: Mapping[str, Sequence[Pair]], strays: Sequence[Pair] = (), units: str = "si"
) -> SafeString:
    """Draw layers of (longitude, latitude), each by its name as a class; the strays may lie beyond the plan."""
    frame = _frame([point for layer in layers.values() for point in layer] or list(strays))
    dots = format_html_join(
        "",
        '<path class="dots {}" d="{}"/>',
        ((name, _marks(name, layer, frame)) for name, layer in layers.items() if layer),
    )
    lost = format_html_join(
        "", '<path class="stray" d="M{} {}m-7 0l7 -7l7 7l-7 7z"/>', (_pair(frame.clamped(point)) for point in strays)
    )
    return format_html(
        '<svg class="places" viewBox="0 0 {} {}" role="img" aria-label="{}" xmlns="http://www.w3.org/2000/svg">'
        '<rect class="ground" x="0.5" y="0.5" width="{}" height="{}"/>{}{}{}{}</svg>',
        _n(_WIDTH), _n(frame.height), title, _n(_WIDTH - 1), _n(frame.height - 1), dots, lost, _north(),
        _scale_bar(frame, units),
    )  # fmt: skip


def _frame(points: Sequence[Pair]) -> _Frame:
    """Fit all points; no flatter than 2.5 to 1, no taller than wide."""
    first = points[0][0]
    east = [_around(point[0] - first) for point in points]
    north = [point[1] for point in points]
    lon, lat = first + (min(east) + max(east)) / 2, (min(north) + max(north)) / 2
    wide_m = max((max(east) - min(east)) * _M_PER_DEGREE * math.cos(math.radians(lat)), 20.0)
    high_m = max((max(north) - min(north)) * _M_PER_DEGREE, 20.0)
    room = _WIDTH - 2 * _MARGIN
    height = min(max(room * high_m / wide_m, room / 2.5), room)
    return _Frame(lon, lat, min(room / wide_m, height / high_m), height + 2 * _MARGIN)


def _around(degrees: float) -> float:
    """A difference of longitudes, the short way round.

    >>> _around(359.0), _around(-10.0)
    (-1.0, -10.0)
    """
    return (degrees + 180) % 360 - 180


def _marks(name: str, layer: Sequence[Pair], frame: _Frame) -> str:
    """One path for all marks of a layer: its shape, not its colour alone, tells it from the others."""
    shape = _SHAPES.get(name, _DOT)
    return "".join(f"M{x} {y}{shape}" for x, y in (_pair(frame.at(point)) for point in layer))


def _pair(at: tuple[float, float]) -> tuple[str, str]:
    return _n(at[0]), _n(at[1])


def _north() -> SafeString:
    x = _n(_WIDTH - 26)
    return format_html(
        '<path class="north" d="M{} 56V26"/><path class="north-head" d="M{} 12l-7 16h14z"/>'
        '<text class="halo" x="{}" y="78" text-anchor="middle">N</text>', x, x, x,
    )  # fmt: skip


def _scale_bar(frame: _Frame, units: str) -> SafeString:
    """A bar of a round length, about a fifth of the width."""
    wanted_m = _WIDTH / 5 / frame.scale
    name, unit_m = next((name, unit_m) for name, unit_m, least_m in _SCALES[units] if wanted_m >= least_m)
    size = round_length(wanted_m / unit_m)
    x, y = 20.0, frame.height - 14
    end = x + size * unit_m * frame.scale
    return format_html(
        '<path class="scale" d="M{} {}v7H{}v-7"/><text class="halo" x="{}" y="{}">{}</text>',
        _n(x), _n(y - 7), _n(end), _n(x), _n(y - 13), f"{size:,g}\u00a0{name}",
    )  # fmt: skip


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
