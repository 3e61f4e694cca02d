"""The options of an inspection as pages show them: side by side, each with what stays at risk and what beats it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.utils.safestring import SafeString, mark_safe

from assessments import options
from assessments.methods.options import ENTRIES
from assessments.models import Inspection, Option, OptionComparison, Target
from assessments.report.drawing import alternatives
from inventory import units

_GAP: Final = "\u00a0"
_SUPERSCRIPT: Final = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
VERDICTS: Final = {
    "worthwhile": "Worth its cost",
    "not_worthwhile": "Not worth its cost",
    "undetermined": "Undetermined",
}


@dataclass(frozen=True)
class Shown:
    """An option with its newest estimate, its measures among the others, and what it is dominated by and why."""

    option: Option
    said: Mapping[str, Any]
    compared: Mapping[str, Any]
    methods: str
    settings: tuple[str, ...]

    @property
    def label(self) -> str:
        """What the option is called."""
        return str(self.said.get("says") or ENTRIES[self.option.kind].label)

    @property
    def dominated(self) -> Sequence[str]:
        """Why another option is better by every measure that differs; empty where none is."""
        return list(self.compared.get("reasons", ()))

    @property
    def stated(self) -> bool:
        """Whether the arborist states something in place of the method."""
        row = self.option
        return row.own_cost is not None or row.own_crew_hours is not None or bool(row.own_residual)

    @property
    def later(self) -> str:
        """The worst risk of any year where it is not that of the first one."""
        worst = str(self.compared.get("risk", ""))
        return "" if worst == self.said.get("risk") else worst


def shown(row: Option, comparison: OptionComparison | None, inspection: Inspection) -> Shown:
    """Show one option of an inspection that was read with its targets and findings."""
    side = comparison.result["options"] if comparison else []
    found: Mapping[str, Any] = next((one for one in side if one["option"] == str(row.uid)), {})
    newest = options.newest(row)
    methods = newest.methods if newest else ""
    return Shown(row, options.said(row), found, methods, tuple(_settings(row.parameters, inspection)))


def _settings(parameters: Mapping[str, Any], inspection: Inspection) -> list[str]:
    """The settings of an option in words."""
    said = []
    if "percent" in parameters:
        said.append(f"{parameters['percent']:g}{_GAP}% of the crown's length and width")
    if "months" in parameters:
        said.append(f"{parameters['months']:g} months")
    if targets := parameters.get("targets"):
        rows = targets_of(inspection)
        said.append("for " + ", ".join(rows[place].label for place in targets if place < len(rows)))
    if parameters.get("species"):
        said.append(f"replaced by {parameters['species']}")
    return said


def targets_of(inspection: Inspection) -> list[Target]:
    """The targets of an inspection, at the places by which settings name them."""
    return sorted(inspection.targets.all(), key=lambda one: one.pk)


def picture(rows: Sequence[Shown], currency: str) -> SafeString:
    """The options that were worked out, drawn side by side; empty without any."""
    drawn = [{**one.said, "label": one.label} for one in rows if one.said.get("risk_years")]
    return mark_safe(alternatives.draw(drawn, currency) if drawn else "")  # noqa: S308 - the drawing escapes its texts


def money(value: float | None, currency: str) -> str:
    """An amount in whole units of its currency.

    >>> money(2140.4, "EUR").split()
    ['2,140', 'EUR']
    """
    return "" if value is None else f"{float(value):,.0f}{_GAP}{currency}"


def harm(value: float) -> str:
    """Expected deaths with two digits: plain from a thousandth on, else by a power of ten.

    >>> harm(0.0432), harm(1.24), harm(0.0)
    ('0.043', '1.2', '0')
    """
    if value == 0:
        return "0"
    if value >= 0.001:
        return f"{float(f'{value:.2g}'):g}"
    digits, power = f"{value:.1e}".split("e")
    return f"{digits}{_GAP}×{_GAP}10{str(int(power)).translate(_SUPERSCRIPT)}"


def area(m2: float | None, system: str) -> str:
    """An area given in m2."""
    return units.area(m2, system)


def upkeep(one: Mapping[str, Any], currency: str) -> str:
    """A repeated cost in words.

    >>> upkeep({"what": "inspect", "cost": 40.0, "every_years": 0.5, "first_year": 0, "last_year": None}, "EUR")
    'inspect 40\u00a0EUR, every 6 months'
    """
    every = one["every_years"]
    often = f"every {every * 12:.0f} months" if every < 1 else "every year" if every == 1 else f"every {every:g} years"
    last = one.get("last_year")
    until = f", until year {last:g}" if last is not None else ""
    return f"{str(one['what']).replace('_', ' ')} {money(one['cost'], currency)}, {often}{until}"


@dataclass(frozen=True)
class Rate:
    """What a diagnosis is worth at one weight of a death, and what each reading would lead to."""

    value: Mapping[str, Any]
    plan: tuple[Mapping[str, Any], ...]


def rates(study: Mapping[str, Any]) -> tuple[Rate, ...]:
    """The three weights of a study, each with its plan."""
    return tuple(
        Rate(one, tuple(row for row in study["plan"] if row["money_per_harm"] == one["money_per_harm"]))
        for one in study["values"]
    )
