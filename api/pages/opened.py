"""An opened stem as the page shows it: predicted and found by height, signs that missed or invented, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.safestring import SafeString, mark_safe

from api.pages import words
from assessments import dissections, truths
from assessments.models import Dissection, DissectionResult
from assessments.report import opened
from inventory import units

VERDICTS: Final = {
    "right_crossed": ("good", "It was said to be below the threshold, and it was."),
    "right_not_crossed": ("good", "It was said to be above the threshold, and it was."),
    "missed": ("stop", "It was said to be above the threshold, and it was not: the weakness was missed."),
    "false_alarm": ("warn", "It was said to be below the threshold, and it was not: a false alarm."),
    "not_stated": ("", "Nothing was said about a threshold before the tree was felled."),
}
BASES: Final = {
    "measured": "measured here",
    "between": "between sections",
    "beyond": "beyond the sections",
    "signs": "from signs alone",
    "nothing": "nothing suspected",
}
STATUS: Final = {
    "matched": "foretold and found",
    "missed": "found, and no sign told of it",
    "invented": "a sign told of it, and it was not there",
    "not_opened": "a sign told of it where nothing was cut",
}


@dataclass(frozen=True)
class Sign:
    """A crack or a hollow: what became of it, what told of it, what was found."""

    status: str
    word: str
    told: str
    found: str


@dataclass(frozen=True)
class Drawn:
    """The pictures, ready for the page."""

    stem: SafeString
    cracks: SafeString
    cuts: tuple[tuple[float, SafeString], ...]


def result_of(one: Dissection, method: str) -> DissectionResult | None:
    """The newest result by a method of a dissection read with its results."""
    return next((row for row in one.results.all() if row.method == method), None)


def stem(one: Dissection) -> DissectionResult | None:
    """The stem rebuilt."""
    return result_of(one, dissections.METHOD)


def truth(one: Dissection) -> DissectionResult | None:
    """What was predicted beside what was found."""
    return result_of(one, truths.METHOD)


def drawn(one: Dissection) -> Drawn | None:
    """The pictures of a dissection; the drawings escape their texts."""
    found = opened.pictures(one)
    if found is None:
        return None
    cuts = tuple((height, mark_safe(svg)) for height, svg in found.cuts)  # noqa: S308 - escaped by the drawing
    return Drawn(mark_safe(found.stem), mark_safe(found.cracks), cuts)  # noqa: S308 - escaped by the drawing


def cracks(result: Mapping[str, Any], system: str) -> list[Sign]:
    """The cracks in words."""
    return [_sign(one, _crack(one["found"], system), system) for one in result["cracks"]]


def decay(result: Mapping[str, Any], system: str) -> list[Sign]:
    """The hollows in words."""
    return [_sign(one, _column(one["found"], system), system) for one in result["decay"]]


def _sign(one: Mapping[str, Any], found: str, system: str) -> Sign:
    return Sign(one["status"], STATUS[one["status"]], _told(one["predicted"], system), found)


def _told(told: Mapping[str, Any] | None, system: str) -> str:
    if told is None:
        return "nothing"
    kind = "measured section" if told["kind"] == "section" else words.finding_kind(told["kind"]).lower()
    toward = "" if told["azimuth_deg"] is None else f", toward {told['azimuth_deg']:.0f}°"
    return f"{kind} {_stretch(told['from_m'], told['to_m'], system)}{toward}"


def _crack(found: Mapping[str, Any] | None, system: str) -> str:
    if found is None:
        return "nothing"
    depth = units.quantity(found["depth_cm"], "cm", system)
    place = _stretch(found["from_m"], found["to_m"], system)
    return f"{place}, toward {found['azimuth_deg']:.0f}°, {depth} deep at {units.length(found['at_m'], system)}"


def _column(found: Mapping[str, Any] | None, system: str) -> str:
    if found is None:
        return "nothing"
    litres = f"{1000 * found['volume_m3']:.0f} litres"
    widest = units.length(found["widest_at_m"], system)
    return f"{_stretch(found['from_m'], found['to_m'], system)}, {litres}, widest at {widest}"


def _stretch(low_m: float, high_m: float, system: str) -> str:
    if abs(high_m - low_m) < 0.005:
        return f"at {units.length(low_m, system)}"
    return f"from {units.length(low_m, system)} to {units.length(high_m, system)}"


def basis(code: str) -> str:
    """The words for what a prediction rests on."""
    return BASES.get(code, code)


def held(value: bool | None) -> str:
    """Whether an interval held what was found."""
    return "no interval" if value is None else "held" if value else "did not hold"
