"""The picture of a stem from the ground up: outline and void in two planes, sections, decay column, cracks, scale."""

from typing import Final

import numpy as np

from assessments.methods.section.along_stem import GRID_DEG, Level, Reach, Stem
from assessments.methods.section.integrals import Floats

from . import svg

SIZE: Final = (560.0, 620.0)
_TOP: Final = 56.0
_GROUND: Final = 500.0
_MIDDLES: Final = (140.0, 370.0)
_PLANES: Final = ((270.0, 90.0, "W", "E"), (180.0, 0.0, "S", "N"))
_WIDEST: Final = 88.0


class _Page:
    """Turns heights and half widths into pixels; widths are drawn larger than heights, and the scale bars say so."""

    def __init__(self, stem: Stem) -> None:
        self.highest = max(level.height_m for level in stem.levels) or 1.0
        self.per_m = (_GROUND - _TOP) / self.highest
        self.per_cm = _WIDEST / max(float(level.reach_cm.max()) for level in stem.levels)

    def y(self, height_m: float) -> float:
        return _GROUND - min(max(height_m, 0.0), self.highest) * self.per_m


def draw(stem: Stem, name: str = "stem-profile") -> str:
    """Draw a stem's profile as an SVG document. `name` makes its ids unique where several pictures share a page.

    >>> from assessments.methods.section import read
    >>> from assessments.methods.section.along_stem import along
    >>> draw(along([read({"diameter_cm": 40, "height_m": 1.3})], [0.0, 3.0])).startswith("<svg")
    True
    """
    page = _Page(stem)
    planes = "".join(_plane(stem, page, plane, f"{name}-decay") for plane in (0, 1))
    parts = (
        svg.tag("defs", svg.hatch(f"{name}-decay")),
        planes,
        svg.line((20, _GROUND), (478, _GROUND), stroke=svg.INK, stroke_width=3),
        _heights(stem, page),
        svg.scale_bar(24, 530, page.per_cm, 80, "cm across"),
        svg.scale_bar(150, 530, page.per_m, 150, "m in height"),
        _key(f"{name}-decay"),
    )
    return svg.picture(name, "Stem profile", describe(stem), SIZE, *parts)


def describe(stem: Stem) -> str:
    """What the picture shows, for those who cannot see it."""
    rows = [
        f"At {level.height_m:.1f} m ({level.basis}): loss of section modulus"
        f" {level.answer.loss_percent.best_estimate:.0f} %, thinnest wall {level.answer.thinnest_wall_cm:.1f} cm."
        for level in stem.levels
    ]
    for words, end in (("above", stem.column_top), ("below", stem.column_bottom)):
        if end is not None:
            rows.append(f"The decay column is expected to end {words} at about {end.best_m:.1f} m.")
    return " ".join(rows)


def _side(level: Level, azimuth: float, radii: Floats) -> float:
    return float(np.interp(azimuth, GRID_DEG, radii, period=360))


def _band(stem: Stem, page: _Page, plane: int, kind: str) -> list[list[float]]:
    """The ring of a plane's left side upward and its right side downward."""
    left, right, *_ = _PLANES[plane]
    middle, ring = _MIDDLES[plane], []
    for sign, azimuth, levels in ((-1, left, stem.levels), (1, right, stem.levels[::-1])):
        for level in levels:
            radii = level.reach_cm if kind == "wood" else level.void_cm
            ring.append([middle + sign * _side(level, azimuth, radii) * page.per_cm, page.y(level.height_m)])
    return ring


def _plane(stem: Stem, page: _Page, plane: int, decay: str) -> str:
    *_, left, right = _PLANES[plane]
    middle = _MIDDLES[plane]
    wood, void = (_band(stem, page, plane, kind) for kind in ("wood", "void"))
    return "".join(
        (
            svg.path([wood], fill=svg.WOOD, stroke=svg.INK, stroke_width=2),
            svg.path([void], fill=f"url(#{decay})", stroke=svg.INK, stroke_width=1.2),
            svg.line(
                (middle, _TOP - 8), (middle, _GROUND), stroke=svg.SOFT, stroke_width=0.8, stroke_dasharray="8 3 2 3"
            ),
            *_cracks(stem, page, plane),
            svg.text(left, middle - _WIDEST - 6, _TOP - 22, 13, text_anchor="middle", fill=svg.INK, font_weight="bold"),
            svg.text(
                right, middle + _WIDEST + 6, _TOP - 22, 13, text_anchor="middle", fill=svg.INK, font_weight="bold"
            ),
            *(_end(end, page, middle) for end in (stem.column_top, stem.column_bottom)),
        )
    )


def _cracks(stem: Stem, page: _Page, plane: int) -> list[str]:
    """Each crack as a line at the depth of its middle, in the plane that its azimuth is nearer to."""
    drawn = []
    for low, high, azimuth, radius in _crack_lines(stem):
        east, north = np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))
        if (abs(east) >= abs(north)) != (plane == 0):
            continue
        x = _MIDDLES[plane] + float(east if plane == 0 else north) * radius * page.per_cm
        for a, b, dash in ((low.best_m, high.best_m, None), (low.high_m, high.high_m, "2 4")):
            drawn.append(
                svg.line(
                    (x, page.y(a)),
                    (x, page.y(b)),
                    stroke=svg.INK,
                    stroke_width=3 if not dash else 1.5,
                    stroke_dasharray=dash,
                )
            )
    return drawn


def _crack_lines(stem: Stem) -> list[tuple[Reach, Reach, float, float]]:
    return [
        (low, high, crack.azimuth_deg, radius)
        for low, high, crack, radius in zip(
            stem.crack_bottoms, stem.crack_tops, stem.cracks, stem.crack_radii_cm, strict=True
        )
    ]


def _end(end: Reach | None, page: _Page, middle: float) -> str:
    """Where the decay column is expected to end, with its range as far as the picture goes."""
    if end is None:
        return ""
    low, best, high = (page.y(h) for h in (end.low_m, end.best_m, end.high_m))
    x = middle + _WIDEST * 0.5
    return svg.line((x, low), (x, high), stroke=svg.SOFT, stroke_width=1.5) + svg.tag(
        "circle", cx=x, cy=best, r=4, fill="#ffffff", stroke=svg.INK, stroke_width=1.5
    )


def _heights(stem: Stem, page: _Page) -> str:
    drawn = [
        svg.text("height: loss of section modulus", 552, 13, 10, text_anchor="end", fill=svg.INK),
    ]
    for level in stem.levels:
        y, measured = page.y(level.height_m), level.basis == "measured"
        loss = level.answer.loss_percent.best_estimate
        if measured:
            drawn.append(svg.line((30, y), (480, y), stroke=svg.INK, stroke_width=1.2, stroke_dasharray="6 4"))
        words = f"{level.height_m:.1f} m: {loss:.0f} %"
        drawn.append(svg.text(words, 486, y + 4, 11 if measured else 10, fill=svg.INK if measured else svg.SOFT))
    return "".join(drawn)


def _key(decay: str) -> str:
    rows = [
        (
            svg.tag("rect", x=330, y=542, width=20, height=12, fill=f"url(#{decay})", stroke=svg.INK),
            "decay column, between sections",
        ),
        (svg.line((330, 568), (350, 568), stroke=svg.INK, stroke_width=3), "crack; dotted: as far as it may run"),
        (svg.tag("circle", cx=340, cy=588, r=4, fill="#ffffff", stroke=svg.INK), "expected end of decay, with range"),
    ]
    return "".join(mark + svg.text(words, 358, 552 + 20 * n, 11, fill=svg.INK) for n, (mark, words) in enumerate(rows))
