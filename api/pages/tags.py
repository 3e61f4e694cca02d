"""Filters and tags of the page templates: words, sizes, the mark of a risk class, one form field."""

from datetime import date, datetime
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from api.pages import choices, dissection_forms, mapping_names, merges, opened, words
from assessments.report import decay_growths, sections, stem_loads
from inventory import units
from inventory.models import Measurement, Site, Tree

register = template.Library()

register.filter("say", words.say)
register.filter("finding_kind", words.finding_kind)
register.filter("part", words.part)
register.filter("section", sections.shown)
register.filter("stem_load", stem_loads.shown)
register.filter("decay_growths", decay_growths.shown)
register.filter("role_label", mapping_names.label)
register.filter("money", choices.money)
register.filter("harm", choices.harm)
register.filter("upkeep", choices.upkeep)
register.filter("ground_area", choices.area)
register.filter("removal_reason", dissection_forms.reason)
register.filter("predicted_from", opened.basis)
register.filter("held", opened.held)


@register.filter
def rule(name: str) -> str:
    """The words for a rule that gives a date."""
    return words.RULE_WORDS.get(name, words.say(name))


@register.filter
def risk_word(code: int | None) -> str:
    """The word of a risk class."""
    return words.RISK_WORDS[code or 0]


@register.filter
def address(site: Site | None) -> str:
    """Street and number of a site, or the place it is in."""
    return "" if site is None else f"{site.street} {site.house_number}".strip() or site.place


@register.filter
def count(number: int) -> str:
    """A whole number with its thousands apart."""
    return f"{number:,}"


@register.filter
def verdict_word(severity: str) -> str:
    """What a check of a load does to a row."""
    return {"refuse": "Refused", "warn": "Accepted with a warning", "note": "Noted"}[severity]


@register.filter
def merge_kind(kind: str) -> str:
    """What a kind of row of a merge is called."""
    return merges.KINDS[kind][0]


@register.filter
def repair(detail: str) -> SafeString:
    """What a check says of a row; what was repaired stands from what to what."""
    before, arrow, after = detail.rpartition(" -> ")
    if not arrow:
        return format_html("{}", detail)
    return format_html(
        '{} <span class="becomes"><span class="unseen-text">becomes</span><span aria-hidden="true">→</span> {}</span>',
        before,
        after,
    )


@register.filter
def species_found(counts: dict[str, int]) -> str:
    """How the species of a file were found, each way with its count."""
    ways = {
        "exact": "by their name",
        "synonym": "by another Latin name",
        "genus": "by the genus alone",
        "common": "by their everyday name",
        "none": "not found",
    }
    return ", ".join(f"{counts[how]:,} {said}" for how, said in ways.items() if counts.get(how)) or "none"


@register.filter
def percent(share: float) -> str:
    """A share of 1 as a whole percentage; a little is not nothing, and not quite all is not all."""
    if 0 < share < 0.01:
        return "under 1\u00a0%"
    return "over 99\u00a0%" if 0.99 < share < 1 else f"{share:.0%}".replace("%", "\u00a0%")


@register.filter
def thousandfold(rate: float) -> str:
    """A rate as so many of a thousand, with two digits where it is small; more than all of them tells no more."""
    found = 1000 * rate
    if found > 1000:
        return "over 1,000"
    return f"{found:.2g}" if 0 < found < 1 else f"{found:,.1f}"


@register.filter
def scientific(value: float) -> str:
    """A very small number with two digits, as 3.2 × 10⁻⁵."""
    digits, power = f"{value:.1e}".split("e")
    raised = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{digits}\u00a0×\u00a010{raised}" if value else "0"


@register.filter
def measures(finding: Any, system: str) -> list[str]:
    """The measures of a finding in words."""
    return words.measures(finding.kind, finding.measures, system)


@register.filter
def diameter(value: Tree | Measurement | float | None, system: str) -> str:
    """A diameter, or the class in which it lies. Empty where unknown."""
    if value is None or isinstance(value, int | float):
        return units.diameter(value, system)
    if value.dbh_cm is not None:
        return units.diameter(value.dbh_cm, system)
    return units.diameter_class(value.dbh_low_cm, value.dbh_high_cm, system)


@register.filter
def diameter_class(tree: dict[str, Any], system: str) -> str:
    """The class in which the diameter of a tree lies, given as the mapping that a query built."""
    return units.diameter_class(tree["dbh_low_cm"], tree["dbh_high_cm"], system)


@register.filter
def metres(value: float | None, system: str) -> str:
    """A height or distance given in metres."""
    return units.length(value, system)


@register.filter
def far(km: float, system: str) -> str:
    """A distance given in kilometres, as long as a city is wide."""
    return f"{km / 1.609344:,.1f}\u00a0mi" if system == "us" else f"{km:,.1f}\u00a0km"


@register.filter
def add_place(name: str, place: int) -> str:
    """The name of a field with the number of its column behind it."""
    return f"{name}{place}"


@register.filter
def at(value: datetime | None) -> str:
    """An instant in the municipality's time, which `access.page` has set."""
    return timezone.localtime(value).strftime("%Y-%m-%d %H:%M") if value else ""


@register.filter
def day(value: date | None) -> str:
    """A date, written the way that sorts and cannot be misread."""
    return value.strftime("%Y-%m-%d") if value else ""


@register.filter
def since(value: date | None, today: date) -> str:
    """How long ago a date was, or how far ahead it lies, in words."""
    if value is None:
        return ""
    days = (value - today).days
    if days == 0:
        return "today"
    span = f"{abs(days)} day{'' if abs(days) == 1 else 's'}"
    return f"in {span}" if days > 0 else f"{span} overdue"


@register.inclusion_tag("parts/risk.html")
def risk(code: int | str | None) -> dict[str, Any]:
    """The mark of a risk class: a shape, a word and a colour, so that no one of them must be seen alone."""
    number = words.risk_number(code)
    return {"number": number, "word": words.RISK_WORDS[number]}


@register.inclusion_tag("parts/field.html")
def field(bound: BoundField) -> dict[str, Any]:
    """One form field with its label, help and errors, tied together for screen readers."""
    described = [f"{bound.id_for_label}_help"] if bound.help_text else []
    if bound.errors:
        described.append(f"{bound.id_for_label}_errors")
    attributes: dict[str, str | bool] = {"aria-describedby": " ".join(described)} if described else {}
    if bound.errors:
        attributes["aria-invalid"] = "true"
    return {"field": bound, "widget": bound.as_widget(attrs=attributes)}


@register.simple_tag
def cell(bound: BoundField) -> SafeString:
    """One form field of a table, named by its label, with its errors below."""
    attributes: dict[str, str | bool] = {"aria-label": str(bound.label)}
    if bound.errors:
        attributes |= {"aria-invalid": "true", "aria-describedby": f"{bound.id_for_label}_errors"}
    wrong = format_html_join("", "<li>{}</li>", ((error,) for error in bound.errors))
    told = format_html('<ul class="wrong" id="{}_errors">{}</ul>', bound.id_for_label, wrong) if wrong else ""
    return format_html("{}{}", bound.as_widget(attrs=attributes), told)


@register.simple_tag(takes_context=True)
def may(context: template.Context, action: str) -> bool:
    """Tell whether the reader may do an action of the role table."""
    user = context["user"]
    return bool(user.is_authenticated and user.may(action))
