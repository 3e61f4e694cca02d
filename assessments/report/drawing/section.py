"""The picture of one section: outline, sound wood, decay, openings, cracks, readings, worst direction, scale, north."""

from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from assessments.methods.section import Answer
from assessments.methods.section.integrals import Floats
from assessments.methods.section.outline import directions

from . import svg

SIZE: Final = (480.0, 570.0)
_MIDDLE: Final = (240.0, 235.0)
_HALF: Final = 165.0  # of the largest reach


class _Page:
    """Turns centimetres from the centroid, north up, into the picture's pixels."""

    def __init__(self, answer: Answer) -> None:
        self.reach_cm = float(np.hypot(*answer.section.outline.vertices_cm.T).max())
        self.per_cm = _HALF / self.reach_cm

    def at(self, points_cm: Floats) -> list[list[float]]:
        x, y = np.asarray(points_cm, np.float64).reshape(-1, 2).T
        placed: list[list[float]] = np.stack([_MIDDLE[0] + x * self.per_cm, _MIDDLE[1] - y * self.per_cm], 1).tolist()
        return placed

    def rings(self, region: shapely.Geometry) -> list[list[list[float]]]:
        polygons = [p for p in shapely.get_parts(region) if isinstance(p, Polygon)]
        rings = [ring for p in polygons for ring in (p.exterior, *p.interiors)]
        return [self.at(shapely.get_coordinates(ring)[:-1]) for ring in rings]


def draw(answer: Answer, name: str = "section") -> str:
    """Draw a section as an SVG document. `name` makes its ids unique where several pictures share a page.

    >>> from assessments.methods.section import assess, read
    >>> draw(assess(read({"diameter_cm": 40}))).startswith("<svg")
    True
    """
    page = _Page(answer)
    parts = (
        svg.tag("defs", svg.hatch(f"{name}-decay")),
        _wood(answer, page, f"{name}-decay"),
        _pieces(answer, page),
        _cracks(answer, page),
        _readings(answer, page),
        _worst(answer),
        svg.north_arrow(452, 44),
        svg.scale_bar(24, 458, page.per_cm, 150, "cm"),
        _key(answer, f"{name}-decay"),
    )
    return svg.picture(name, title(answer), describe(answer), SIZE, *parts)


def title(answer: Answer) -> str:
    """The picture's name in words."""
    height = answer.section.height_m
    return "Stem section" if height is None else f"Stem section at {svg.figure(height)} m"


def describe(answer: Answer) -> str:
    """What the picture shows, for those who cannot see it."""
    section, loss = answer.section, answer.loss_percent
    words = [
        f"Diameter without bark about {2 * section.outline.radius_cm:.0f} cm.",
        f"Thinnest wall {answer.thinnest_wall_cm:.1f} cm, t/R {answer.t_over_r:.2f}.",
        f"{len(section.readings)} readings, {len(section.openings)} openings, {len(section.cracks)} cracks.",
        f"Pieces: {len(answer.bounds.pieces)}.",
        f"Loss of section modulus {loss.best_estimate:.0f} % (80 % interval {loss.low:.0f} to {loss.high:.0f} %)",
        f"under load toward {round(answer.worst.compression_azimuth_deg) % 360} degrees from north.",
    ]
    return " ".join(words)


def _wood(answer: Answer, page: _Page, decay: str) -> str:
    found, outline = answer.residual, answer.section.outline.polygon
    return "".join(
        (
            svg.path(page.rings(found.wood), fill=svg.WOOD, fill_rule="evenodd"),
            svg.path(page.rings(found.decay), fill=f"url(#{decay})", stroke=svg.INK, stroke_width=1.2),
            svg.path(page.rings(found.cuts), fill=svg.VOID, stroke=svg.FAINT, stroke_width=0.8),
            svg.path(page.rings(outline), fill="none", stroke=svg.FAINT, stroke_width=1, stroke_dasharray="4 3"),
            svg.path(page.rings(found.wood), fill="none", stroke=svg.INK, stroke_width=2, fill_rule="evenodd"),
        )
    )


def _pieces(answer: Answer, page: _Page) -> str:
    """A number on each piece, once there are several."""
    pieces = answer.bounds.pieces
    if len(pieces) < 2:
        return ""
    drawn = []
    for number, piece in enumerate(pieces, 1):
        inside = piece.point_on_surface()
        x, y = page.at(np.array([inside.x, inside.y]))[0]
        drawn.append(svg.tag("circle", cx=x, cy=y, r=9, fill="#ffffff", stroke=svg.INK))
        drawn.append(svg.text(str(number), x, y + 4, 12, text_anchor="middle", fill=svg.INK))
    return "".join(drawn)


def _cracks(answer: Answer, page: _Page) -> str:
    drawn = []
    for crack in answer.slits:
        toward, further = directions(crack.azimuth_deg), crack.run_on()
        inner, outer, from_, to = (
            page.at(r * toward)[0] for r in (crack.inner_cm, crack.outer_cm, further.inner_cm, further.outer_cm)
        )
        for a, b in ((from_, inner), (outer, to)):
            if a != b:
                drawn.append(svg.line(a, b, stroke=svg.INK, stroke_width=1.5, stroke_dasharray="2 3"))
        drawn.append(svg.line(inner, outer, stroke="#ffffff", stroke_width=6, stroke_linecap="round"))
        drawn.append(svg.line(inner, outer, stroke=svg.INK, stroke_width=3, stroke_linecap="round"))
    return "".join(drawn)


def _readings(answer: Answer, page: _Page) -> str:
    outline, drawn = answer.section.outline, []
    for reading in answer.section.readings:
        toward, reach = directions(reading.azimuth_deg), float(outline.reach_cm(reading.azimuth_deg))
        # A wall beyond the centre is drawn as far as the centre.
        start, end = (page.at(r * toward)[0] for r in (reach, max(reach - reading.sound_wall_cm, 0.0)))
        drawn.append(svg.line(start, end, stroke=svg.INK, stroke_width=1))
        drawn.append(svg.tag("circle", cx=end[0], cy=end[1], r=3, fill="#ffffff", stroke=svg.INK, stroke_width=1.4))
        if reading.void_to_cm is not None and reading.void_to_cm < reach:
            x, y = page.at((reach - reading.void_to_cm) * toward)[0]
            drawn.append(svg.tag("rect", x=x - 2.5, y=y - 2.5, width=5, height=5, fill="#ffffff", stroke=svg.INK))
    return "".join(drawn)


def _worst(answer: Answer) -> str:
    """An arrow outside the stem toward the side that is pressed under the worst load."""
    azimuth = answer.worst.compression_azimuth_deg
    toward = directions(azimuth) * (1, -1)
    middle, aside = np.array(_MIDDLE), np.array([-toward[1], toward[0]])
    tip, tail = middle + toward * (_HALF + 32), middle + toward * (_HALF + 8)
    head = [tip, tip - toward * 11 + aside * 6, tip - toward * 11 - aside * 6]
    x, y = middle + toward * (_HALF + 46)
    return "".join(
        (
            svg.line(tail.tolist(), (tip - toward * 8).tolist(), stroke=svg.INK, stroke_width=3),
            svg.path([[list(point) for point in head]], fill=svg.INK),
            svg.text(f"{round(azimuth) % 360}\N{DEGREE SIGN}", x, y + 4, 12, text_anchor="middle", fill=svg.INK),
        )
    )


def _key(answer: Answer, decay: str) -> str:
    loss, x = answer.loss_percent, 258.0
    rows = [
        (svg.tag("rect", x=x, y=454, width=20, height=12, fill=svg.WOOD, stroke=svg.INK), "sound wood"),
        (svg.tag("rect", x=x, y=474, width=20, height=12, fill=f"url(#{decay})", stroke=svg.INK), "decay or void"),
        (svg.line((x, 500), (x + 20, 500), stroke=svg.INK, stroke_width=3), "crack; dotted: may run on"),
        (svg.tag("circle", cx=x + 10, cy=520, r=3, fill="#ffffff", stroke=svg.INK), "end of sound wall as read"),
        (svg.path([[(x + 20, 540), (x + 9, 534), (x + 9, 546)]], fill=svg.INK), "worst load presses this side"),
    ]
    marks = "".join(mark + svg.text(words, x + 30, 464 + 20 * n, fill=svg.INK) for n, (mark, words) in enumerate(rows))
    figures = (
        svg.text(f"Loss of section modulus {loss.best_estimate:.0f} %", 24, 512, 13, fill=svg.INK, font_weight="bold"),
        svg.text(f"80 % interval {loss.low:.0f} to {loss.high:.0f} %", 24, 530, fill=svg.INK),
        svg.text(f"thinnest wall {answer.thinnest_wall_cm:.1f} cm, t/R {answer.t_over_r:.2f}", 24, 548, fill=svg.INK),
    )
    return marks + "".join(figures)
