"""The picture of decay over years: the band of t/R or of the loss, its threshold, and the chance that it is crossed."""

from typing import Final

import numpy as np

from assessments.methods.decay_growth import Answer
from assessments.methods.decay_growth.answer import HIGH, LOW, MIDDLE, ROOT_COLLAR
from assessments.methods.section.integrals import Floats

from . import svg

SIZE: Final = (560.0, 520.0)
_LEFT, _RIGHT = 64.0, 530.0
_BAND: Final = (52.0, 286.0)
_CHANCE: Final = (322.0, 410.0)
_FIRST: Final = "#6f6a60"  # the line of the first year


class _Page:
    """Turns years and values into pixels; `top` is the largest value of the band's panel."""

    def __init__(self, years: Floats, top: float) -> None:
        self.last = float(years[-1]) or 1.0
        self.top = top

    def x(self, year: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * year / self.last

    def y(self, value: float, panel: tuple[float, float] = _BAND, top: float | None = None) -> float:
        high, low = panel
        return low - (low - high) * value / (self.top if top is None else top)


def draw(answer: Answer, name: str = "decay-band") -> str:
    """Draw an answer as an SVG document; where it gives no band, what to do first stands in its place.

    >>> from assessments.methods.decay_growth import Measured, Request, assess
    >>> draw(assess(Request(60.0, "stem", (Measured(9.0),)))).startswith("<svg")
    True
    """
    if answer.course is None:
        return _without(answer, name)
    by_loss = answer.request.most_loss_percent is not None
    values = answer.course.loss_percent if by_loss else answer.course.t_over_r
    low, middle, high = np.quantile(values, (LOW, MIDDLE, HIGH), axis=0)
    years = np.asarray(answer.course.years, np.float64)
    page = _Page(years, _top(float(high.max()), by_loss))
    parts = (
        svg.tag("defs", svg.hatch(f"{name}-band")),
        _scales(page, by_loss),
        _band(page, years, low, high, f"{name}-band"),
        _course(page, years, middle),
        _threshold(page, answer, by_loss),
        _chances(page, answer, years),
        _first(page, answer),
        _key(f"{name}-band", answer),
    )
    return svg.picture(name, "Decay over the coming years", describe(answer), SIZE, *parts)


def describe(answer: Answer) -> str:
    """What the picture shows, for those who cannot see it."""
    if answer.course is None:
        return " ".join(answer.reasons)
    by_loss = answer.request.most_loss_percent is not None
    values = answer.course.loss_percent if by_loss else answer.course.t_over_r
    what, unit, digits = ("Loss of section modulus", " %", 0) if by_loss else ("t/R", "", 2)
    said = []
    for place, when in ((0, "now"), (-1, f"in {answer.course.years[-1]} years")):
        low, middle, high = np.quantile(values[:, place], (LOW, MIDDLE, HIGH))
        said.append(
            f"{what} {when}: {middle:.{digits}f}{unit} (80 % band {low:.{digits}f} to {high:.{digits}f}{unit})."
        )
    return " ".join([*said, _first_words(answer)])


def _first_words(answer: Answer) -> str:
    chance, horizon = answer.request.chance_percent, answer.request.horizon_years
    if answer.first_year is None:
        return f"The chance that the threshold is crossed stays below {chance:g} % for {horizon} years."
    when = "already now" if answer.first_year == 0 else f"in year {answer.first_year}"
    return f"The chance that the threshold is crossed reaches {chance:g} % {when}."


def _top(highest: float, by_loss: bool) -> float:
    """A round end of the scale above the band."""
    return 100.0 if by_loss else float(np.clip(np.ceil(highest * 5 + 0.25) / 5, 0.4, 1.0))


def _scales(page: _Page, by_loss: bool) -> str:
    what = "Loss of section modulus, %" if by_loss else "t/R"
    values = np.linspace(0, page.top, 5).tolist()
    drawn = [
        _heading(what, _BAND[0] - 22),
        *(_rule(page.y(value), f"{value:.0f}" if by_loss else f"{value:.2f}") for value in values),
        _heading("Chance that the threshold is crossed, %", _CHANCE[0] - 12),
        *(_rule(page.y(value, _CHANCE, 100), f"{value:.0f}") for value in (0.0, 50.0, 100.0)),
        svg.text("years from now", _RIGHT, _CHANCE[1] + 36, 12, text_anchor="end", fill=svg.INK),
    ]
    step = next(step for step in (1, 2, 5, 10, 20) if page.last / step <= 12)
    for year in range(0, int(page.last) + 1, step):
        x = page.x(year)
        drawn.append(svg.line((x, _CHANCE[1]), (x, _CHANCE[1] + 5), stroke=svg.INK, stroke_width=1))
        drawn.append(svg.text(str(year), x, _CHANCE[1] + 19, 11, text_anchor="middle", fill=svg.INK))
    return "".join(drawn)


def _heading(words: str, y: float) -> str:
    return svg.text(words, _LEFT - 40, y, 13, fill=svg.INK, font_weight="bold")


def _rule(y: float, words: str) -> str:
    line = svg.line((_LEFT, y), (_RIGHT, y), stroke=svg.FAINT, stroke_width=0.6)
    return line + svg.text(words, _LEFT - 8, y + 4, 11, text_anchor="end", fill=svg.INK)


def _band(page: _Page, years: Floats, low: Floats, high: Floats, band: str) -> str:
    up = [[page.x(year), page.y(value)] for year, value in zip(years.tolist(), high.tolist(), strict=True)]
    down = [[page.x(year), page.y(value)] for year, value in zip(years.tolist(), low.tolist(), strict=True)]
    return svg.path([up + down[::-1]], fill=f"url(#{band})", stroke=svg.SOFT, stroke_width=1)


def _course(page: _Page, years: Floats, middle: Floats) -> str:
    points = [[page.x(year), page.y(value)] for year, value in zip(years.tolist(), middle.tolist(), strict=True)]
    return svg.path([points], closed=False, fill="none", stroke=svg.INK, stroke_width=2.5)


def _threshold(page: _Page, answer: Answer, by_loss: bool) -> str:
    value = answer.request.most_loss_percent if by_loss else answer.request.least_t_over_r
    y = page.y(min(value or 0.0, page.top))
    return svg.line((_LEFT, y), (_RIGHT, y), stroke=svg.INK, stroke_width=1.8, stroke_dasharray="9 5")


def _chances(page: _Page, answer: Answer, years: Floats) -> str:
    assert answer.chance_percent is not None  # noqa: S101 - there wherever a course is
    points = [
        [page.x(year), page.y(value, _CHANCE, 100)]
        for year, value in zip(years.tolist(), answer.chance_percent.tolist(), strict=True)
    ]
    y = page.y(answer.request.chance_percent, _CHANCE, 100)
    policy = svg.line((_LEFT, y), (_RIGHT, y), stroke=svg.INK, stroke_width=1.2, stroke_dasharray="3 3")
    return policy + svg.path([points], closed=False, fill="none", stroke=svg.INK, stroke_width=2.5)


def _first(page: _Page, answer: Answer) -> str:
    """A dotted line at the first year in which the chance is reached."""
    if answer.first_year is None:
        return ""
    x = page.x(answer.first_year)
    spans = ((_BAND[0] - 6, _BAND[1]), _CHANCE)
    lines = "".join(svg.line((x, a), (x, b), stroke=_FIRST, stroke_width=1.6, stroke_dasharray="2 3") for a, b in spans)
    anchor = "end" if x > (_LEFT + _RIGHT) / 2 else "start"
    words = "now" if answer.first_year == 0 else f"year {answer.first_year}"
    return lines + svg.text(words, x + (-6 if anchor == "end" else 6), _BAND[0] - 8, text_anchor=anchor, fill=svg.INK)


def _key(band: str, answer: Answer) -> str:
    request = answer.request
    loss = request.most_loss_percent
    threshold = f"threshold: t/R {request.least_t_over_r:g}" if loss is None else f"threshold: loss {loss:g} %"
    dashes = ((1.8, "9 5"), (1.2, "3 3"))
    threshold_line, chance_line = (
        svg.line((250, y), (274, y), stroke=svg.INK, stroke_width=width, stroke_dasharray=dash)
        for y, (width, dash) in zip((466, 486), dashes, strict=True)
    )
    marks = (
        svg.line((64, 466), (88, 466), stroke=svg.INK, stroke_width=2.5),
        svg.tag("rect", x=64, y=480, width=24, height=12, fill=f"url(#{band})", stroke=svg.SOFT),
        threshold_line,
        chance_line,
    )
    words = (
        (96.0, 470.0, "median course"),
        (96.0, 490.0, "80 % band"),
        (282.0, 470.0, threshold),
        (282.0, 490.0, f"chance that the policy allows: {request.chance_percent:g} %"),
        (64.0, 511.0, "t/R: thinnest sound wall over radius. Advice to a qualified person."),
    )
    return "".join((*marks, *(svg.text(said, x, y, fill=svg.INK) for x, y, said in words)))


def _without(answer: Answer, name: str) -> str:
    title = "Examine the root collar first" if answer.call == ROOT_COLLAR else "Measure inside first"
    words = "".join(svg.text(line, 24, 74 + 20 * n, 13, fill=svg.INK) for n, line in enumerate(_wrapped(answer)))
    head = svg.text(title, 24, 42, 18, fill=svg.INK, font_weight="bold")
    return svg.picture(name, title, describe(answer), (SIZE[0], 140.0), head, words)


def _wrapped(answer: Answer, most: int = 72) -> list[str]:
    lines = [""]
    for word in " ".join(answer.reasons).split():
        if len(lines[-1]) + len(word) >= most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
