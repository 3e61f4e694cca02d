"""The picture of the calibration: sound walls found on those estimated, the fit, its band, the range opened."""

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from assessments.methods.calibration import LEAST_TREES, Calibration, Estimate, Row
from assessments.methods.calibration.correct import Figure, correct

from . import svg

SIZE: Final = (560.0, 610.0)
_LEFT, _RIGHT, _TOP, _BOTTOM = 70.0, 530.0, 40.0, 460.0
MOST_MARKS: Final = 400
_STEPS: Final = 41


def _x(fraction: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * fraction


def _y(fraction: float) -> float:
    return _BOTTOM - (_BOTTOM - _TOP) * fraction


def draw(calibration: Calibration, rows: Sequence[Row], name: str = "calibration") -> str:
    """Draw a calibration with the rows it was fitted to as an SVG document.

    >>> from assessments.methods.calibration import fit
    >>> draw(fit([]), []).startswith("<svg")
    True
    """
    shown = [row for row in rows if row.estimated is not None and row.predicted_hollow and row.found_hollow]
    shown = shown[:: max(1, -(-len(shown) // MOST_MARKS))]
    band = f"{name}-band"
    parts = (
        svg.tag("defs", svg.hatch(band)),
        _scales(),
        _fit(calibration, shown, band),
        svg.line((_x(0), _y(0)), (_x(1), _y(1)), stroke=svg.INK, stroke_width=1.4, stroke_dasharray="9 5"),
        *(_row(row) for row in shown),
        _range(calibration),
        _key(calibration, band),
    )
    return svg.picture(name, "Found against estimated sound wall", describe(calibration), SIZE, *parts)


def describe(calibration: Calibration) -> str:
    """What the picture shows, for those who cannot see it."""
    head = f"{calibration.cuts} cuts of {calibration.trees} dissected trees."
    if not calibration.enough:
        return f"{head} Too few to correct anything."
    intercept, slope = calibration.effects[:2]
    opened = f"Estimates from {calibration.lowest:.2f} to {calibration.highest:.2f} were opened."
    return (
        f"{head} {opened} On the logit scale the slope is {slope.mean:.2f} (95 % {slope.low95:.2f} to"
        f" {slope.high95:.2f}; 1 is no change) and the bias at 0.35 is {intercept.mean:.2f} ({intercept.low95:.2f} to"
        f" {intercept.high95:.2f}; 0 is none)."
    )


def _scales() -> str:
    drawn = [
        svg.text("sound wall found (t/R)", _LEFT - 46, _TOP - 18, 13, fill=svg.INK, font_weight="bold"),
        svg.text("sound wall estimated (t/R)", _RIGHT, _BOTTOM + 52, 13, text_anchor="end", fill=svg.INK,
                 font_weight="bold"),
    ]  # fmt: skip
    for part in range(6):
        value = part / 5
        drawn += [
            svg.line((_LEFT, _y(value)), (_RIGHT, _y(value)), stroke=svg.FAINT, stroke_width=0.6),
            svg.line((_x(value), _BOTTOM), (_x(value), _BOTTOM + 5), stroke=svg.INK, stroke_width=1),
            svg.text(svg.figure(value), _LEFT - 8, _y(value) + 4, 11, text_anchor="end", fill=svg.INK),
            svg.text(svg.figure(value), _x(value), _BOTTOM + 19, 11, text_anchor="middle", fill=svg.INK),
        ]
    return "".join(drawn)


def _fit(calibration: Calibration, rows: Sequence[Row], band: str) -> str:
    """Median and 80 % band for one cut of a new tree of no particular kind, over the range opened."""
    if not calibration.enough or not rows:
        return ""
    spread = float(np.median([row.spread for row in rows]))
    at = np.linspace(calibration.lowest, calibration.highest, _STEPS).tolist()
    ends = [correct(calibration, Estimate(value, spread, "", "", "")).figure for value in at]

    def points(value: Callable[[Figure], float]) -> list[list[float]]:
        return [[_x(x), _y(value(figure))] for x, figure in zip(at, ends, strict=True)]

    high, low = points(lambda figure: figure.high), points(lambda figure: figure.low)
    return "".join(
        (
            svg.path([high + low[::-1]], fill=f"url(#{band})", stroke=svg.SOFT, stroke_width=1),
            *(
                svg.path([points(end)], closed=False, fill="none", stroke=svg.SOFT, stroke_width=1.2,
                         stroke_dasharray="2 3")
                for end in (lambda figure: figure.low95, lambda figure: figure.high95)
            ),
            svg.path([points(lambda figure: figure.best)], closed=False, fill="none", stroke=svg.INK, stroke_width=3),
        )
    )  # fmt: skip


def _row(row: Row) -> str:
    return _mark(_x(row.estimated or 0.0), _y(row.found), row.reason)


def _mark(x: float, y: float, reason: str) -> str:
    if reason == "predicted_weakness":
        return svg.tag("circle", cx=x, cy=y, r=3.4, fill=svg.INK, stroke="#ffffff", stroke_width=0.8)
    if reason == "storm_failure":
        ends = (((x - 4, y - 4), (x + 4, y + 4)), ((x - 4, y + 4), (x + 4, y - 4)))
        return "".join(svg.line(a, b, stroke=svg.INK, stroke_width=1.6) for a, b in ends)
    shapes = {
        "random_sample": [(x, y - 5), (x + 5, y), (x, y + 5), (x - 5, y)],
        "pest": [(x, y - 4.5), (x + 4.5, y + 3.5), (x - 4.5, y + 3.5)],
    }
    square = [(x - 3.5, y - 3.5), (x + 3.5, y - 3.5), (x + 3.5, y + 3.5), (x - 3.5, y + 3.5)]
    return svg.path([shapes.get(reason, square)], fill="#ffffff", stroke=svg.INK, stroke_width=1.2)


def _range(calibration: Calibration) -> str:
    """A bar under the axis over the estimates that were opened; outside it nothing is corrected."""
    if not calibration.enough:
        return ""
    low, high, y = _x(calibration.lowest), _x(calibration.highest), _BOTTOM + 29
    ends = "".join(svg.line((x, y - 5), (x, y + 5), stroke=svg.INK, stroke_width=1.5) for x in (low, high))
    return svg.line((low, y), (high, y), stroke=svg.INK, stroke_width=3) + ends


def _key(calibration: Calibration, band: str) -> str:
    strata = (
        ("predicted_weakness", "judged weak"),
        ("utility", "construction, utility"),
        ("pest", "pest"),
        ("random_sample", "random sample"),
        ("storm_failure", "storm failure, not pooled"),
    )
    left = [(_mark(34, 528 + 17 * n, reason), words, 46.0) for n, (reason, words) in enumerate(strata)]
    ends = "".join(svg.line((x, 574), (x, 584), stroke=svg.INK, stroke_width=1.5) for x in (236, 260))
    bars = [svg.line((236, y), (260, y), stroke=svg.INK, stroke_width=width, stroke_dasharray=dash)
            for y, width, dash in ((528, 3, None), (562, 1.4, "9 5"), (579, 3, None))]  # fmt: skip
    lines = (
        (bars[0], "fitted: a new tree of no particular kind"),
        (
            svg.tag("rect", x=236, y=539, width=24, height=12, fill=f"url(#{band})", stroke=svg.SOFT),
            "80 % of such cuts; dotted 95 %",
        ),
        (bars[1], "found as estimated"),
        (bars[2] + ends, "estimates opened: corrected only within"),
    )
    right = [(mark, words, 268.0) for mark, words in lines]
    drawn = "".join(m + svg.text(w, x, 532 + 17 * n, fill=svg.INK) for side in (left, right)
                    for n, (m, w, x) in enumerate(side))  # fmt: skip
    few = "" if calibration.enough else f": too few, {LEAST_TREES} are needed"
    count = f"{calibration.cuts} cuts, {calibration.trees} tree{'' if calibration.trees == 1 else 's'}{few}"
    return drawn + svg.text(count, 236, 600, 13, fill=svg.INK, font_weight="bold")
