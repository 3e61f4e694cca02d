"""A section of an inspection in words, for pages and documents: its figures, the published rules, its older results."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from assessments.models import Section, SectionResult
from assessments.sections import diameter
from inventory import units

_RULES: Final = {
    "wagener": "Wagener",
    "coder": "Coder",
    "smiley_fraedrich": "Smiley and Fraedrich",
    "t_over_r": "t/R",
    "open_cavity": "Width of an open cavity",
    "shell_one_in_six": "Wall of one sixth of the diameter",
    "shell_15_percent": "Mean wall of 15 % of the diameter",
    "shell_open": "Wall of one third beside an opening",
}
_GAP: Final = "\u00a0"


@dataclass(frozen=True)
class Rule:
    """A published rule: what it gives, its limit and a verdict, or why it does not apply."""

    name: str
    value: str
    limit: str
    verdict: str
    source: str


@dataclass(frozen=True)
class Said:
    """The figures of one section in words. `alternative` says the picture to those who cannot see it."""

    alternative: str
    height: str
    size: str
    wall: str
    t_over_r: str
    loss: str
    intervals: str
    direction: str
    ring: str
    rules: tuple[Rule, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Shown(Said):
    """The newest result of a section in words, and the older ones in short."""

    section: Section
    newest: SectionResult
    older: tuple[str, ...]


def shown(section: Section, system: str) -> Shown:
    """Say a section that was read with its results, the newest first."""
    newest, *older = section.results.all()
    words = said(newest.result, section.height_m, system)
    return Shown(**vars(words), section=section, newest=newest, older=tuple(_older(row) for row in older))


def said(result: Mapping[str, Any], height_m: float, system: str) -> Said:
    """Say the answer of the method for a section at a height."""
    wall = units.diameter(float(result["thinnest_wall_cm"]), system)
    loss, intervals = _loss(result)
    height = units.length(height_m, system)
    direction = f"{round(float(result['compression_azimuth_deg'])) % 360}° from north"
    return Said(
        alternative=f"Section at {height}: thinnest wall {wall}, loss {loss}, worst under load toward {direction}.",
        height=height,
        size=units.diameter(diameter(result), system),
        wall=wall,
        t_over_r=f"{float(result['t_over_r']):.2f}",
        loss=loss,
        intervals=intervals,
        direction=direction,
        ring=_ring(result),
        rules=tuple(_rules(result["rules"], system)),
        notes=tuple(result["notes"]),
    )


def _loss(result: Mapping[str, Any]) -> tuple[str, str]:
    loss = {name: f"{float(value):.0f}" for name, value in result["modulus"]["loss_percent"].items()}
    eighty = f"80{_GAP}% interval {loss['low']} to {loss['high']}{_GAP}%"
    return f"{loss['best_estimate']}{_GAP}%", f"{eighty}, 95{_GAP}% {loss['low95']} to {loss['high95']}{_GAP}%"


def _ring(result: Mapping[str, Any]) -> str:
    if int(result["pieces"]) > 1:
        return f"parted into {result['pieces']} pieces"
    if result["closed"]:
        return "closed"
    return "open" if result["open"] else "opened by a crack"


def _older(row: SectionResult) -> str:
    return f"version {row.version} of {row.method.replace('_', ' ')}: loss {_loss(row.result)[0]}"


def _rules(rules: Mapping[str, Mapping[str, Any]], system: str) -> Iterator[Rule]:
    """Those that apply first."""
    for name, rule in sorted(rules.items(), key=lambda pair: not pair[1]["applies"]):
        quantity, label = str(rule["quantity"]), _RULES.get(name, name.replace("_", " "))
        why = str(rule["why"])
        verdict = why[:1].upper() + why[1:]
        if rule["applies"]:
            verdict = "Beyond its limit" if rule["beyond"] else "Within its limit"
        value, limit = (_said(rule[part], quantity, system) for part in ("value", "threshold"))
        yield Rule(label, value, limit, verdict, str(rule["source"]))


def _said(value: float | None, quantity: str, system: str) -> str:
    if value is None:
        return ""
    if quantity == "wall_cm":
        return units.diameter(value, system)
    return {"loss_percent": f"{value:.0f}{_GAP}% loss", "opening_deg": f"{value:.0f}°"}.get(quantity, f"{value:.2f}")
