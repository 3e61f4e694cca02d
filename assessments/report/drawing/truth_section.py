"""The picture of one height of a felled tree: what was predicted beside what was found, on one scale."""

from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from assessments.methods.section import Answer
from assessments.methods.section.outline import directions
from assessments.methods.truth import HeightTruth

from . import svg

SIZE: Final = (560.0, 424.0)
_MIDDLES: Final = ((140.0, 168.0), (420.0, 168.0))
_HALF: Final = 108.0


class _Page:
    """Turns centimetres from the centroid, north up, into pixels round one of two middles."""

    def __init__(self, middle: tuple[float, float], per_cm: float) -> None:
        self.middle = middle
        self.per_cm = per_cm

    def rings(self, region: shapely.Geometry) -> list[list[list[float]]]:
        polygons = [p for p in shapely.get_parts(region) if isinstance(p, Polygon)]
        rings = [ring for p in polygons for ring in (p.exterior, *p.interiors)]
        return [self.at(shapely.get_coordinates(ring)[:-1]) for ring in rings]

    def at(self, points: object) -> list[list[float]]:
        x, y = np.asarray(points, np.float64).reshape(-1, 2).T
        placed: list[list[float]] = np.stack(
            [self.middle[0] + x * self.per_cm, self.middle[1] - y * self.per_cm], 1
        ).tolist()
        return placed


def draw(one: HeightTruth, name: str = "truth-section") -> str:
    """Draw one height as an SVG document. `name` makes its ids unique where several pictures share a page.

    >>> from assessments.methods.dissection import read, rebuild
    >>> from assessments.methods.truth import Predicted, compare
    >>> stem = rebuild(read({"cuts": [{"height_m": 1, "diameter_cm": 40}]}))
    >>> draw(compare(stem, Predicted()).heights[0]).startswith("<svg")
    True
    """
    shown = [one.face.answer] + ([one.predicted.level.answer] if one.predicted.level else [])
    reach = max(float(np.hypot(*answer.section.outline.vertices_cm.T).max()) for answer in shown)
    left, right = (_Page(middle, _HALF / reach) for middle in _MIDDLES)
    decay = f"{name}-decay"
    parts = (
        svg.tag("defs", svg.hatch(decay)),
        *(svg.text(words, middle[0], 28, 15, text_anchor="middle", fill=svg.INK, font_weight="bold")
          for words, middle in zip(("Predicted", "Found"), _MIDDLES, strict=True)),
        _predicted(one, left, decay),
        _section(one.face.answer, right, decay),
        _ghost(one, right),
        svg.north_arrow(280, 60),
        svg.scale_bar(232, 296, left.per_cm, 96, "cm"),
        _figures(one),
        _key(decay),
    )  # fmt: skip
    return svg.picture(name, title(one), describe(one), SIZE, *parts)


def title(one: HeightTruth) -> str:
    """The picture's name in words."""
    return f"Predicted and found at {svg.figure(one.predicted.height_m)} m"


def describe(one: HeightTruth) -> str:
    """What the picture shows, for those who cannot see it."""
    told = f"Predicted ({_BASIS[one.predicted.basis]}): {_wall(one)}. Found: t/R {one.found:.2f}"
    loss = f", loss of section modulus {one.found_loss:.0f} %."
    held = one.held()
    inside = "" if held is None else f" The 80 % interval {'held' if held else 'did not hold'} what was found."
    shared = "" if one.overlap_iou is None else f" Predicted and found hollow share {100 * one.overlap_iou:.0f} %."
    crossed = " The threshold was crossed." if one.crossed_found else " The threshold was not crossed."
    return told + loss + inside + shared + crossed


_BASIS: Final = {
    "measured": "measured here",
    "between": "between measured sections",
    "beyond": "beyond the measured sections",
    "signs": "from signs alone",
    "nothing": "nothing was suspected",
}


def _wall(one: HeightTruth) -> str:
    wall = one.predicted.wall
    if wall is None:
        return "a hollow without a figure" if one.predicted.hollow else "sound"
    return f"t/R {wall.best:.2f} (80 % interval {wall.low:.2f} to {wall.high:.2f})"


def _section(answer: Answer, page: _Page, decay: str) -> str:
    found, outline = answer.residual, answer.section.outline.polygon
    return "".join(
        (
            svg.path(page.rings(found.wood), fill=svg.WOOD, fill_rule="evenodd"),
            svg.path(page.rings(found.decay), fill=f"url(#{decay})", stroke=svg.INK, stroke_width=1.2),
            svg.path(page.rings(found.cuts), fill=svg.VOID, stroke=svg.FAINT, stroke_width=0.8),
            svg.path(page.rings(outline), fill="none", stroke=svg.INK, stroke_width=2),
            *_cracks(answer, page),
        )
    )


def _cracks(answer: Answer, page: _Page) -> list[str]:
    drawn = []
    for crack in answer.slits:
        inner, outer = (page.at(r * directions(crack.azimuth_deg))[0] for r in (crack.inner_cm, crack.outer_cm))
        drawn.append(svg.line(inner, outer, stroke="#ffffff", stroke_width=6, stroke_linecap="round"))
        drawn.append(svg.line(inner, outer, stroke=svg.INK, stroke_width=3, stroke_linecap="round"))
    return drawn


def _predicted(one: HeightTruth, page: _Page, decay: str) -> str:
    """The section that was predicted; without one the found outline, with the wall that signs told of as a ring."""
    if one.predicted.level is not None:
        return _section(one.predicted.level.answer, page, decay)
    outline = one.face.answer.section.outline
    drawn = svg.path(page.rings(outline.polygon), fill=svg.WOOD, stroke=svg.INK, stroke_width=2)
    wall = one.predicted.wall
    if wall is not None:
        radius = outline.radius_cm * (1 - wall.best) * page.per_cm
        x, y = page.middle
        drawn += svg.tag("circle", cx=x, cy=y, r=radius, fill=f"url(#{decay})", stroke=svg.INK, stroke_dasharray="6 4")
    elif one.predicted.hollow:
        drawn += svg.text("?", page.middle[0], page.middle[1] + 14, 40, text_anchor="middle", fill=svg.INK)
    return drawn


def _ghost(one: HeightTruth, page: _Page) -> str:
    """The predicted hollow over the found one, as a white line under a dashed dark one."""
    if one.predicted.level is None:
        return ""
    rings = page.rings(one.predicted.level.answer.residual.decay)
    halo = svg.path(rings, fill="none", stroke="#ffffff", stroke_width=4)
    return halo + svg.path(rings, fill="none", stroke=svg.INK, stroke_width=1.8, stroke_dasharray="6 4")


def _figures(one: HeightTruth) -> str:
    wall, loss, held = one.predicted.wall, one.predicted.loss, one.held()
    left = [_BASIS[one.predicted.basis]]
    left.append(f"t/R {wall.best:.2f} ({wall.low:.2f} to {wall.high:.2f})" if wall else _wall(one))
    if loss is not None:
        left.append(f"loss {loss.best_estimate:.0f} % ({loss.low:.0f} to {loss.high:.0f})")
    inside = {None: "", True: ", inside the interval", False: ", outside the interval"}
    right = [
        "on the cut face",
        f"t/R {one.found:.2f}{inside[held]}",
        f"loss {one.found_loss:.0f} %{inside[one.loss_held()]}",
    ]
    return "".join(
        svg.text(words, middle[0], 334 + 18 * row, 13 if row else 12, text_anchor="middle", fill=svg.INK)
        for side, middle in zip((left, right), _MIDDLES, strict=True)
        for row, words in enumerate(side)
    )


def _key(decay: str) -> str:
    marks = (
        svg.tag("rect", x=24, y=394, width=20, height=12, fill=svg.WOOD, stroke=svg.INK),
        svg.tag("rect", x=150, y=394, width=20, height=12, fill=f"url(#{decay})", stroke=svg.INK),
        svg.line((278, 400), (298, 400), stroke=svg.INK, stroke_width=3),
        svg.line((370, 400), (394, 400), stroke=svg.INK, stroke_width=1.8, stroke_dasharray="6 4"),
    )
    words = ((50.0, "sound wood"), (176.0, "decay or void"), (304.0, "crack"), (400.0, "hollow as predicted"))
    return "".join((*marks, *(svg.text(said, x, 404, fill=svg.INK) for x, said in words)))
