"""The picture of options side by side: a row each, its expected harm over the years with its band, and its cost."""

import math
from collections.abc import Mapping, Sequence
from typing import Any, Final

from . import svg

WIDTH: Final = 760.0
_ROW: Final = 74.0
_TOP: Final = 62.0
_FOOT: Final = 54.0
_HARM: Final = (240.0, 474.0)
_COST: Final = (532.0, 746.0)
_BAND: Final = "#c9c9c9"
# Harm below this is drawn at the foot of its panel: nobody tells it from none.
_LEAST: Final = 1e-9
_LETTERS: Final = 26  # of a line beside the panels

Option = Mapping[str, Any]


class _Page:
    """Turns years, harm (by powers of ten) and money into pixels; one row an option."""

    def __init__(self, options: Sequence[Option]) -> None:
        harms = [point[name] for one in options for point in one["risk_years"] for name in ("low", "central", "high")]
        known = [harm for harm in harms if harm > _LEAST]
        self.low = math.floor(math.log10(min(known))) if known else -6
        self.high = max(self.low + 1, math.ceil(math.log10(max(known)))) if known else 0
        ends = [point["year"] + 1 for one in options for point in one["risk_years"]]
        self.last: int = max([*ends, *(point["year"] for one in options for point in one["cost_years"]), 1])
        spent = [point["present_so_far"] for one in options for point in one["cost_years"]]
        self.dear = _round_up(max([*spent, 1.0]))

    def x(self, year: float, panel: tuple[float, float]) -> float:
        return panel[0] + (panel[1] - panel[0]) * year / self.last

    def harm(self, row: int, value: float) -> float:
        share = (math.log10(max(value, 10.0**self.low)) - self.low) / (self.high - self.low)
        return self.foot(row) - share * (_ROW - 22)

    def cost(self, row: int, value: float) -> float:
        return self.foot(row) - value / self.dear * (_ROW - 22)

    def foot(self, row: int) -> float:
        return _TOP + (row + 1) * _ROW - 12


def _round_up(value: float) -> float:
    step = 10.0 ** math.floor(math.log10(value))
    return next(n * step for n in (1, 2, 5, 10) if n * step >= value)


def draw(options: Sequence[Option], currency: str, name: str = "alternatives") -> str:
    """Draw options as SVG. Each has `label`, `risk_years` and `cost_years` as methods/options gives them.

    Harm is on a scale of powers of ten that all rows share, money on one that all rows share.
    """
    page = _Page(options)
    height = _TOP + len(options) * _ROW + _FOOT
    rows = [part for row, option in enumerate(options) for part in _row(page, row, option)]
    parts = (_heads(page, currency), *rows, _feet(page, len(options)), _key(height))
    return svg.picture(name, "Options side by side", describe(options, currency), (WIDTH, height), *parts)


def describe(options: Sequence[Option], currency: str) -> str:
    """What the picture shows, for those who cannot see it."""
    said = []
    for place, option in enumerate(options, 1):
        harms, costs = option["risk_years"], option["cost_years"]
        first, last = harms[0], harms[-1]
        total = costs[-1]["present_so_far"] if costs else 0
        said.append(
            f"{place}. {option['label']}: expected harm a year {_power(first['central'])} in the first year,"
            f" {_power(last['central'])} in year {last['year']}; present value of all costs {total:,.0f} {currency}."
        )
    return " ".join(said)


def _power(value: float) -> str:
    if value <= _LEAST:
        return "practically none"
    digits, power = f"{value:.0e}".split("e")
    return f"{digits} in {10 ** -int(power):,}" if int(power) < 0 else f"{value:.0f}"


def _heads(page: _Page, currency: str) -> str:
    middle = [(panel[0] + panel[1]) / 2 for panel in (_HARM, _COST)]
    heads = ("Expected harm a year", f"Cost so far, present value ({currency})")
    return "".join(
        svg.text(words, x, 22, 13, text_anchor="middle", font_weight="bold", fill=svg.INK)
        for words, x in zip(heads, middle, strict=True)
    ) + "".join(
        svg.text(words, x, 40, 11, text_anchor="middle", fill=svg.SOFT)
        for words, x in zip(
            ("powers of ten; band: low to high map of the words", "steps at each spending"), middle, strict=True
        )
    )


def _row(page: _Page, row: int, option: Option) -> list[str]:
    foot, top = page.foot(row), page.foot(row) - (_ROW - 22)
    lines = _wrapped(f"{row + 1}. {option['label']}")
    names = [svg.text(words, 8, top + 14 + 15 * n, 12.5, fill=svg.INK) for n, words in enumerate(lines)]
    frames = [
        svg.tag("rect", x=a, y=top, width=b - a, height=foot - top, fill="none", stroke=svg.FAINT, stroke_width=0.7)
        for a, b in (_HARM, _COST)
    ]
    return [*names, *frames, _decades(page, row), _harm(page, row, option), _cost(page, row, option)]


def _decades(page: _Page, row: int) -> str:
    """A line at each power of ten, and the number at the first and the last."""
    parts = []
    for power in range(page.low, page.high + 1):
        y = page.harm(row, 10.0**power)
        parts.append(svg.line((_HARM[0], y), (_HARM[1], y), stroke=svg.FAINT, stroke_width=0.3))
        if power in (page.low, page.high):
            parts.append(svg.text(_ten(power), _HARM[0] - 4, y + 4, 9.5, text_anchor="end", fill=svg.SOFT))
    parts.append(
        svg.text(
            f"{page.dear:,.0f}", _COST[0] - 4, page.cost(row, page.dear) + 4, 9.5, text_anchor="end", fill=svg.SOFT
        )
    )
    parts.append(svg.text("0", _COST[0] - 4, page.foot(row) + 3, 9.5, text_anchor="end", fill=svg.SOFT))
    return "".join(parts)


def _ten(power: int) -> str:
    return "10" + str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def _harm(page: _Page, row: int, option: Option) -> str:
    years = option["risk_years"]
    if all(point["high"] <= _LEAST for point in years):
        middle = (_HARM[0] + _HARM[1]) / 2
        return svg.text("none of this tree", middle, page.foot(row) - 20, 11, text_anchor="middle", fill=svg.SOFT)
    low, central, high = (_steps(page, row, years, name) for name in ("low", "central", "high"))
    return svg.path([[*high, *reversed(low)]], fill=_BAND) + svg.path(
        [central], closed=False, fill="none", stroke=svg.INK, stroke_width=1.8
    )


def _steps(page: _Page, row: int, years: Sequence[Mapping[str, Any]], name: str) -> list[tuple[float, float]]:
    """Each year's harm holds for that year."""
    points = []
    for point in years:
        y = page.harm(row, point[name])
        points += [(page.x(point["year"], _HARM), y), (page.x(point["year"] + 1, _HARM), y)]
    return points


def _cost(page: _Page, row: int, option: Option) -> str:
    """Steps: what was spent up to each year."""
    points: list[tuple[float, float]] = [(_COST[0], page.foot(row))]
    for point in option["cost_years"]:
        x, y = page.x(point["year"], _COST), page.cost(row, point["present_so_far"])
        points += [(x, points[-1][1]), (x, y)]
    return svg.path([points], closed=False, fill="none", stroke=svg.INK, stroke_width=1.8)


def _feet(page: _Page, rows: int) -> str:
    y = page.foot(rows - 1) + 14
    parts = []
    for panel in (_HARM, _COST):
        for year in (0, page.last // 2, page.last):
            at = page.x(year, panel)
            parts.append(svg.text(f"{year:g}", at, y, 10, text_anchor="middle", fill=svg.SOFT))
        parts.append(
            svg.text("years from now", (panel[0] + panel[1]) / 2, y + 14, 10, text_anchor="middle", fill=svg.SOFT)
        )
    return "".join(parts)


def _key(height: float) -> str:
    y = height - 12
    line = svg.line((8, y - 4), (30, y - 4), stroke=svg.INK, stroke_width=1.8)
    band = svg.tag("rect", x=118.0, y=y - 11, width=22, height=13, fill=_BAND)
    return (
        line + svg.text("central", 36, y, 11, fill=svg.INK) + band + svg.text("low to high", 146, y, 11, fill=svg.INK)
    )


def _wrapped(words: str) -> list[str]:
    lines = [""]
    for word in words.split():
        if len(lines[-1]) + len(word) + 1 > _LETTERS and lines[-1]:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines[:3]
