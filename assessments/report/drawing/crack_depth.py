"""The picture of cracks along a felled stem: depth of both tips below the surface by height, and what signs told."""

from typing import Final

from assessments.methods.dissection import Track
from assessments.methods.truth import Comparison, CrackTruth

from . import svg

SIZE: Final = (560.0, 560.0)
_LEFT, _RIGHT, _TOP, _BOTTOM = 150.0, 530.0, 56.0, 440.0
MOST_TRACKS: Final = 3
MOST_SIGNS: Final = 4
# The deepest crack first: told apart by tone and by the mark on each cut.
_FILLS: Final = ("#b9b9b9", "#dedede", "#f3f3f3")
_STATUS: Final = {
    "matched": "had a sign",
    "missed": "no sign told of it",
    "invented": "a sign without a crack",
    "not_opened": "a sign where nothing was cut",
}


class _Page:
    """Turns depths (cm) and heights (m) into pixels."""

    def __init__(self, found: Comparison) -> None:
        tracks = [one.track for one in found.cracks if one.track][:MOST_TRACKS]
        told = [one.told for one in found.cracks if one.told]
        depths = [track.deepest.depth_cm for track in tracks] + [one.depth_cm or 0.0 for one in told]
        heights = [one.face.cut.height_m for one in found.heights]
        tops = [track.top.best_m for track in tracks] + [one.to_m for one in told]
        self.deepest = _round_up(max([*depths, 1.0]))
        self.highest = _round_up(max([*heights, *tops, 0.1]))

    def x(self, depth_cm: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * min(depth_cm / self.deepest, 1.0)

    def y(self, height_m: float) -> float:
        return _BOTTOM - (_BOTTOM - _TOP) * min(max(height_m / self.highest, 0.0), 1.0)


def _round_up(value: float) -> float:
    """The next of 1, 2, 3, 4, 5, 6, 8, 10 times a power of ten."""
    scale = 10.0 ** (len(str(int(value))) - 1) if value >= 1 else 0.1
    return next(step * scale for step in (1, 2, 3, 4, 5, 6, 8, 10, 20) if step * scale >= value - 1e-9)


def draw(found: Comparison, name: str = "crack-depth") -> str:
    """Draw the cracks of a comparison as an SVG document.

    >>> from assessments.methods.dissection import read, rebuild
    >>> from assessments.methods.truth import Predicted, compare
    >>> stem = rebuild(read({"cuts": [{"height_m": 1, "diameter_cm": 40}]}))
    >>> "No crack" in draw(compare(stem, Predicted()))
    True
    """
    page = _Page(found)
    shown = [one for one in found.cracks if one.track][:MOST_TRACKS]
    shown.sort(key=lambda one: -one.track.deepest.depth_cm if one.track else 0.0)
    told = [one for one in found.cracks if one.told][:MOST_SIGNS]
    parts = (
        _scales(page),
        *(_cut(page, one.face.cut.height_m) for one in found.heights),
        *(_band(page, one, place) for place, one in enumerate(shown)),
        *(_track(page, one, place) for place, one in enumerate(shown)),
        *(_sign(page, one, place) for place, one in enumerate(told)),
        _key(shown),
    )
    return svg.picture(name, "Crack depth along the stem", describe(found), SIZE, *parts)


def describe(found: Comparison) -> str:
    """What the picture shows, for those who cannot see it."""
    if not found.cracks:
        return "No crack was found and no sign told of one."
    return " ".join(_said(one) for one in found.cracks)


def _said(one: CrackTruth) -> str:
    if one.track is None:
        told = one.told
        where = "" if told is None else f"The {told.kind} from {told.from_m:.2f} to {told.to_m:.2f} m"
        return f"{where}: {_STATUS[one.status]}."
    track, deepest = one.track, one.track.deepest
    return (
        f"Crack toward {deepest.azimuth_deg:.0f} degrees from about {track.bottom.best_m:.2f} to"
        f" {track.top.best_m:.2f} m, {deepest.depth_cm:.1f} cm deep at {deepest.height_m:.2f} m:"
        f" {_STATUS[one.status]}."
    )


def _scales(page: _Page) -> str:
    drawn = [
        svg.text("height, m", _LEFT - 8, _TOP - 22, 12, text_anchor="end", fill=svg.INK, font_weight="bold"),
        svg.text("depth below the surface, cm", _RIGHT, _BOTTOM + 38, 12, text_anchor="end", fill=svg.INK,
                 font_weight="bold"),
        svg.text("signs", 10, _TOP - 22, 12, fill=svg.INK, font_weight="bold"),
        svg.line((_LEFT, _TOP), (_LEFT, _BOTTOM), stroke=svg.INK, stroke_width=2.5),
    ]  # fmt: skip
    for part in range(5):
        height, depth = page.highest * part / 4, page.deepest * part / 4
        drawn.append(svg.line((_LEFT, page.y(height)), (_RIGHT, page.y(height)), stroke=svg.FAINT, stroke_width=0.6))
        drawn.append(svg.text(svg.figure(height), _LEFT - 10, page.y(height) + 4, 11, text_anchor="end", fill=svg.INK))
        drawn.append(svg.line((page.x(depth), _BOTTOM), (page.x(depth), _BOTTOM + 5), stroke=svg.INK, stroke_width=1))
        drawn.append(svg.text(svg.figure(depth), page.x(depth), _BOTTOM + 19, 11, text_anchor="middle", fill=svg.INK))
    return "".join(drawn)


def _cut(page: _Page, height: float) -> str:
    """A mark at the surface for each cut."""
    return svg.line((_LEFT - 5, page.y(height)), (_LEFT + 5, page.y(height)), stroke=svg.INK, stroke_width=1.5)


def _tips(page: _Page, track: Track) -> tuple[list[list[float]], list[list[float]], list[list[float]]]:
    """Outer tips, inner tips and both ends of a crack."""
    outer = [[page.x(seen.gap_cm), page.y(seen.height_m)] for seen in track.seen]
    inner = [[page.x(seen.depth_cm), page.y(seen.height_m)] for seen in track.seen]
    return outer, inner, [_middle(page, track, end) for end in (0, -1)]


def _band(page: _Page, one: CrackTruth, place: int) -> str:
    if one.track is None:
        return ""
    outer, inner, ends = _tips(page, one.track)
    ring = [ends[0], *inner, ends[1], *outer[::-1]]
    return svg.path([ring], fill=_FILLS[place], fill_opacity=0.8, stroke=svg.SOFT, stroke_width=0.8)


def _track(page: _Page, one: CrackTruth, place: int) -> str:
    if one.track is None:
        return ""
    _, inner, ends = _tips(page, one.track)
    core = svg.path([inner], closed=False, fill="none", stroke=svg.INK, stroke_width=2.2)
    loose = "".join(
        svg.path([line], closed=False, fill="none", stroke=svg.INK, stroke_width=1.4, stroke_dasharray="2 4")
        for line in ([ends[0], inner[0]], [inner[-1], ends[1]])
    )
    return loose + core + "".join(_mark(x, y, place) for x, y in inner)


def _middle(page: _Page, track: Track, end: int) -> list[float]:
    """Where the crack is thought to run out: at the depth of the middle of its last sighting."""
    seen, reach = track.seen[end], track.bottom if end == 0 else track.top
    return [page.x(seen.gap_cm + seen.run_cm / 2), page.y(reach.best_m)]


def _mark(x: float, y: float, place: int) -> str:
    if place == 0:
        return svg.tag("circle", cx=x, cy=y, r=4, fill=svg.INK)
    if place == 1:
        return svg.tag("rect", x=x - 4, y=y - 4, width=8, height=8, fill="#ffffff", stroke=svg.INK, stroke_width=1.5)
    return svg.path([[(x, y - 5), (x + 5, y + 4), (x - 5, y + 4)]], fill="#ffffff", stroke=svg.INK, stroke_width=1.5)


def _sign(page: _Page, one: CrackTruth, place: int) -> str:
    """What told of a crack: a bar beside the surface over its height, open where no crack was found."""
    told = one.told
    if told is None:
        return ""
    x, high, low = 24.0 + 24 * place, page.y(told.to_m), page.y(told.from_m)
    fill = {"matched": svg.INK, "invented": "#ffffff"}.get(one.status, svg.FAINT)
    bar = svg.tag("rect", x=x - 5, y=high, width=10, height=max(low - high, 6.0), fill=fill, stroke=svg.INK)
    middle = (high + low) / 2
    turn = f"rotate(-90 {svg.figure(x - 9)} {svg.figure(middle)})"
    words = svg.text(told.kind.replace("_", " "), x - 9, middle, 11, text_anchor="middle", fill=svg.INK, transform=turn)
    depth = told.depth_cm
    if depth is None:
        return bar + words
    at = page.x(depth)
    return bar + words + svg.line((at, high), (at, low), stroke=svg.INK, stroke_width=2, stroke_dasharray="8 4")


def _key(shown: list[CrackTruth]) -> str:
    rows = []
    for place, one in enumerate(shown):
        track = one.track
        if track is not None:
            words = f"crack toward {track.deepest.azimuth_deg:.0f}\N{DEGREE SIGN}: {_STATUS[one.status]}"
            rows.append((_mark(30, 494 + 19 * place, place), words))
    if not rows:
        rows.append(("", "No crack was found."))
    marks = "".join(m + svg.text(words, 44, 498 + 19 * n, fill=svg.INK) for n, (m, words) in enumerate(rows))
    side = (
        (svg.tag("rect", x=316, y=488, width=10, height=12, fill=svg.INK), "sign that a crack lay behind"),
        (svg.tag("rect", x=316, y=507, width=10, height=12, fill="#ffffff", stroke=svg.INK), "sign without a crack"),
        (
            svg.line((310, 532), (334, 532), stroke=svg.INK, stroke_width=1.4, stroke_dasharray="2 4"),
            "runs out, not seen",
        ),
    )
    return marks + "".join(m + svg.text(words, 342, 498 + 19 * n, fill=svg.INK) for n, (m, words) in enumerate(side))
