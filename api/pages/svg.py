"""Small plan drawings in SVG: trees, works, protection circles, a scale bar, north. No style attribute (CSP)."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from inventory.rules import FOOT_M

# Drawing units: a small drawing stands beside the text, a wide one across the page.
SMALL: Final = 560.0
WIDE: Final = 1100.0
_MARGIN: Final = 14.0
# Beyond this many, labels would cover the drawing.
_MOST_LABELS: Final = 60
Point = tuple[float, float]


@dataclass(frozen=True)
class Spot:
    """A tree on the plan: metres east and north, crown width and protection radius in m, stem in cm."""

    east_m: float
    north_m: float
    label: str
    crown_m: float | None = None
    stem_cm: float | None = None
    protection_m: float | None = None
    subject: bool = False


@dataclass(frozen=True)
class Outline:
    """A line or an area of planned works: its vertices in metres, rings one after the other."""

    parts: Sequence[Sequence[Point]]
    closed: bool


@dataclass(frozen=True)
class Plan:
    """What to draw, and how many metres to show beyond it."""

    title: str
    spots: Sequence[Spot]
    works: Sequence[Outline] = field(default_factory=tuple)
    rings_m: Sequence[float] = ()
    beyond_m: float = 3.0
    units: str = "si"
    width: float = SMALL


@dataclass(frozen=True)
class _Frame:
    """Metres to drawing units; north is up."""

    west: float
    north: float
    scale: float
    width: float
    height: float

    def at(self, point: Point) -> Point:
        return _MARGIN + (point[0] - self.west) * self.scale, _MARGIN + (self.north - point[1]) * self.scale


def draw(plan: Plan) -> SafeString:
    """Draw a plan as one SVG element with a title and a description for those who cannot see it."""
    frame = _frame(plan)
    layers = [
        format_html(
            '<rect class="ground" x="0.5" y="0.5" width="{}" height="{}"/>', _n(frame.width - 1), _n(frame.height - 1)
        ),
        _rings(plan, frame),
        _works(plan, frame),
        _spots(plan, frame),
        _labels(plan, frame),
        _north(frame),
        _scale_bar(frame, plan.units),
    ]
    return format_html(
        '<svg class="plan" viewBox="0 0 {} {}" role="img" aria-label="{}" xmlns="http://www.w3.org/2000/svg">{}</svg>',
        _n(frame.width),
        _n(frame.height),
        plan.title,
        mark_safe("".join(layers)),  # noqa: S308 - each layer is escaped by format_html
    )


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _frame(plan: Plan) -> _Frame:
    """Fit everything, keep a sensible shape: no flatter than 2:1, no taller than 1:1."""
    ends = [(spot.east_m, spot.north_m, _reach_m(spot, plan)) for spot in plan.spots]
    ends += [(x, y, 0.0) for shape in plan.works for part in shape.parts for x, y in part]
    ends = ends or [(0.0, 0.0, 10.0)]
    west = min(x - r for x, _, r in ends) - plan.beyond_m
    east = max(x + r for x, _, r in ends) + plan.beyond_m
    south = min(y - r for _, y, r in ends) - plan.beyond_m
    north = max(y + r for _, y, r in ends) + plan.beyond_m
    width, height = east - west, north - south
    wider = max(0.0, height - width) / 2
    taller = max(0.0, width / 2 - height) / 2
    west, width = west - wider, width + 2 * wider
    north, height = north + taller, height + 2 * taller
    scale = (plan.width - 2 * _MARGIN) / width
    return _Frame(west, north, scale, plan.width, height * scale + 2 * _MARGIN)


def _reach_m(spot: Spot, plan: Plan) -> float:
    """How far what is drawn of a tree reaches from its stem."""
    rings_m = plan.rings_m if spot.subject else ()
    return max((spot.crown_m or 0) / 2, spot.protection_m or 0, *rings_m, 0)


def _rings(plan: Plan, frame: _Frame) -> SafeString:
    """Circles at stated distances around the subject."""
    subject = next((spot for spot in plan.spots if spot.subject), None)
    if subject is None:
        return SafeString("")
    x, y = frame.at((subject.east_m, subject.north_m))
    return format_html_join(
        "",
        '<circle class="ring" cx="{}" cy="{}" r="{}"/><text class="halo" x="{}" y="{}" text-anchor="middle">{}</text>',
        (
            (_n(x), _n(y), _n(r * frame.scale), _n(x), _n(y + r * frame.scale - 4), _distance(r, plan.units))
            for r in plan.rings_m
        ),
    )


def _distance(m: float, units: str) -> str:
    return f"{m / FOOT_M:.0f} ft" if units == "us" else f"{m:g} m"


def _works(plan: Plan, frame: _Frame) -> SafeString:
    paths = (
        (" ".join(_path(part, frame, shape.closed) for part in shape.parts), "works" if shape.closed else "works line")
        for shape in plan.works
    )
    return format_html_join(
        "",
        '<path d="{}" class="{}" fill-rule="evenodd"{}/>',
        ((path, kind, SafeString(' fill="none"' if "line" in kind else "")) for path, kind in paths),
    )


def _path(part: Sequence[Point], frame: _Frame, closed: bool) -> str:
    points = [frame.at(point) for point in part]
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + ("Z" if closed else "")


def _spots(plan: Plan, frame: _Frame) -> str:
    return "".join(_spot(spot, frame) for spot in sorted(plan.spots, key=lambda one: one.subject))


def _spot(spot: Spot, frame: _Frame) -> SafeString:
    x, y = (_n(value) for value in frame.at((spot.east_m, spot.north_m)))
    circles = []
    if spot.protection_m:
        circles.append(("protection", x, y, _n(spot.protection_m * frame.scale)))
    if spot.crown_m:
        circles.append(("crown", x, y, _n(spot.crown_m / 2 * frame.scale)))
    stem = max((spot.stem_cm or 0) / 200 * frame.scale, 3.5 if spot.subject else 2.6)
    circles.append(("stem", x, y, _n(stem)))
    inside = format_html_join("", '<circle class="{}" cx="{}" cy="{}" r="{}"/>', circles)
    return format_html(
        '<g class="{}"><title>{}</title>{}</g>', "subject" if spot.subject else "other", spot.label, inside
    )


def _labels(plan: Plan, frame: _Frame) -> SafeString:
    """Name the subject and the trees near it, leaving out a name that would lie on another."""
    taken: list[tuple[float, float, float]] = []
    named: list[tuple[str, str, str]] = []
    for spot in sorted(plan.spots, key=lambda one: not one.subject):
        x, y = frame.at((spot.east_m, spot.north_m))
        wide = 7.4 * len(spot.label) + 6
        left = x + 7 if x + 7 + wide < frame.width - 4 else x - 7 - wide
        if len(named) < _MOST_LABELS and all(abs(y - b) > 13 or left > a + w or left + wide < a for a, b, w in taken):
            taken.append((left, y, wide))
            named.append((_n(left), _n(y + 4), spot.label))
    return format_html_join("", '<text class="halo" x="{}" y="{}">{}</text>', named)


def _north(frame: _Frame) -> SafeString:
    x = frame.width - 28
    return format_html(
        '<path class="north" d="M{} 62V26"/><path class="north-head" d="M{} 14l-7 16h14z"/>'
        '<text class="halo" x="{}" y="78" text-anchor="middle">N</text>',
        _n(x),
        _n(x),
        _n(x),
    )


def _scale_bar(frame: _Frame, units: str) -> SafeString:
    """A bar of a round length, about a fifth of the width."""
    unit_m = FOOT_M if units == "us" else 1.0
    wanted = min(frame.width / 5, 160) / frame.scale / unit_m
    size = round_length(wanted)
    x, y = 20.0, frame.height - 20
    end = x + size * unit_m * frame.scale
    return format_html(
        '<path class="scale" d="M{} {}v6H{}v-6"/><text class="halo" x="{}" y="{}" text-anchor="middle">{}</text>',
        _n(x),
        _n(y - 6),
        _n(end),
        _n((x + end) / 2),
        _n(y - 8),
        f"{size:g} {'ft' if units == 'us' else 'm'}",
    )


def round_length(wanted: float) -> float:
    """Give the largest of 1, 2, 5 x 10^n that is not above `wanted`.

    >>> [round_length(x) for x in (0.7, 4.9, 17, 60)]
    [0.5, 2.0, 10.0, 50.0]
    """
    best = 0.1
    for power in range(-1, 7):
        for step in (1, 2, 5):
            if step * 10.0**power <= wanted:
                best = step * 10.0**power
    return best
