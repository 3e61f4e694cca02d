"""Small charts in SVG: a histogram, a bar beside a number. No style attribute (CSP); each says in words what it is."""

from collections.abc import Mapping
from typing import Any, Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.intake.glance import plain

_WIDE: Final = 264.0
_HIGH: Final = 58.0
_GAP: Final = 1.0


def histogram(heading: str, picture: Mapping[str, Any], unit: str = "") -> SafeString:
    """The bars of a histogram as a survey gives it (`low`, `step`, `counts`, ...), with its ends below."""
    bars, counts = picture["histogram"], picture["histogram"]["counts"]
    tall, wide = max(counts, default=0) or 1, _WIDE / max(len(counts), 1)
    rects = (
        (_n(place * wide), _n(_HIGH - height), _n(max(wide - _GAP, 0.5)), _n(height))
        for place, count in enumerate(counts)
        # What is there is seen, however little.
        if count and (height := max(_HIGH * count / tall, 1.5))
    )
    return format_html(
        '<svg class="histogram" viewBox="0 0 {} {}" role="img" aria-label="{}" xmlns="http://www.w3.org/2000/svg">'
        '{}<path class="ground" d="M0 {}H{}"/></svg>'
        '<p class="axis-ends small num" aria-hidden="true"><span>{}</span><span>{}</span></p>',
        _n(_WIDE),
        _n(_HIGH + 1.5),
        f"Histogram of {heading}: {said(picture, unit)}",
        format_html_join("", '<rect x="{}" y="{}" width="{}" height="{}"/>', rects),
        _n(_HIGH + 0.75),
        _n(_WIDE),
        *_ends(picture, bars, unit),
    )


def said(picture: Mapping[str, Any], unit: str = "") -> str:
    """The numbers of a column in words: how many there are, where half of them lie, and what is beyond the bars."""
    bars, years = picture["histogram"], picture["kind"] == "years"
    beyond = bars["below"] + bars["above"]
    told = f"half of {sum(bars['counts']) + beyond:,} values are under {_of(bars['median'], years)}"
    told += f"{_unit(unit)}; the smallest is {_of(bars['smallest'], years)}, the largest {_of(bars['largest'], years)}"
    return told + (f"; {beyond:,} lie outside the bars" if beyond else "")


def bar(part: float, whole: float) -> SafeString:
    """One bar, as long as a part is of the whole; the number stands beside it, so it is not read aloud."""
    share = min(max(part / whole, 0.0), 1.0) if whole else 0.0
    return format_html(
        '<svg class="bar" viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true" focusable="false">'
        '<rect class="whole" width="100" height="8"/><rect width="{}" height="8"/></svg>',
        _n(max(100 * share, 0.8 if part else 0.0)),
    )


def _ends(picture: Mapping[str, Any], bars: Mapping[str, Any], unit: str) -> tuple[str, str]:
    if picture["kind"] == "years":
        return _of(bars["low"], True), _of(bars["high"] - 1, True)
    return plain(bars["low"]), f"{plain(bars['high'])}{_unit(unit)}"


def _unit(unit: str) -> str:
    return f"\u00a0{unit}" if unit else ""


def _of(value: float, year: bool) -> str:
    return f"{value:.0f}" if year else _short(value)


def _short(value: float) -> str:
    """A number with six digits, or all of a whole one.

    >>> _short(37.76047498), _short(2.0), _short(1234567.0)
    ('37.7605', '2', '1,234,567')
    """
    return f"{value:,.0f}" if value == round(value) or abs(value) >= 1e6 else plain(float(f"{value:.6g}"))


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
