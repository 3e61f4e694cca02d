"""Filters of the report's template: words for codes, sizes in the reader's units, days, pictures as data."""

import base64
from typing import Any

from django import template

from assessments.report import words
from inventory import units

register = template.Library()
register.filter("say", words.say)
register.filter("finding_kind", words.finding_kind)
register.filter("part", words.part)
register.filter("metres", units.length)
register.filter("centimetres", units.diameter)


@register.filter
def measures(finding: dict[str, Any], system: str) -> list[str]:
    """The measures of a finding in words."""
    return words.measures(finding["kind"], finding["measures"], system)


@register.filter
def diameter(tree: dict[str, Any], system: str) -> str:
    """The diameter of a tree, or the class in which it lies. Empty where unknown."""
    if tree["dbh_cm"] is not None:
        return units.diameter(tree["dbh_cm"], system)
    return units.diameter_class(tree["dbh_low_cm"], tree["dbh_high_cm"], system)


@register.filter
def data(svg: str) -> str:
    """A picture as an address that holds it."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"


@register.filter
def money(amount: float | str | None, currency: str) -> str:
    """An amount in whole units of the currency. Empty where unknown.

    >>> money("1234.5", "EUR").replace(chr(8239), " ").split(chr(160))
    ['1 234', 'EUR']
    """
    if amount is None or amount == "":
        return ""
    return f"{float(amount):,.0f}".replace(",", "\u202f") + f"\u00a0{currency}"


@register.filter
def square_metres(value: float | None, system: str) -> str:
    """An area given in m². Empty where unknown."""
    return "" if value is None else units.area(value, system)
