"""The catalogue of findings: kinds of weakness, the parts they sit on and their measures, read from tables.

Sources of the kinds: USDA NA-TP-03-03, USDA NA-FR-01-96, ISA BMP Tree Risk Assessment 2017.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeAlias

from . import tables

Value: TypeAlias = float | int | bool | str


@dataclass(frozen=True)
class Part:
    """A part of a tree: most diameter as a multiple of dbh, most height in m; None: no limit."""

    name: str
    label: str
    most_times_dbh: float | None
    most_height_m: float | None


@dataclass(frozen=True)
class Measure:
    """One measure of a kind: `type` is number, integer, choice or flag; bounds in `unit`, ends included."""

    name: str
    label: str
    type: str
    unit: str
    least: float | None
    most: float | None
    choices: tuple[str, ...]
    required: bool
    example: Value


@dataclass(frozen=True)
class Kind:
    """A kind of finding, with all a form needs. `sharpened_by` is the most telling measure, or empty."""

    name: str
    label: str
    parts: tuple[str, ...]
    fungus: bool
    sharpened_by: str
    measures: Mapping[str, Measure]
    example_height_m: float | None
    example_azimuth_deg: float | None


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def _yes(cell: str) -> bool:
    return {"yes": True, "no": False, "true": True, "false": False}[cell]


def _example(row: Mapping[str, str]) -> Value:
    readers: dict[str, Callable[[str], Value]] = {
        "number": float,
        "integer": int,
        "flag": _yes,
        "choice": str,
    }
    return readers[row["type"]](row["example"])


def _measure(row: Mapping[str, str]) -> Measure:
    return Measure(
        name=row["measure"],
        label=row["label"],
        type=row["type"],
        unit=row["unit"],
        least=_number(row["least"]),
        most=_number(row["most"]),
        choices=tuple(row["choices"].split()),
        required=_yes(row["required"]),
        example=_example(row),
    )


def _kind(row: Mapping[str, str], measures: list[Measure]) -> Kind:
    return Kind(
        name=row["kind"],
        label=row["label"],
        parts=tuple(row["parts"].split()),
        fungus=_yes(row["fungus"]),
        sharpened_by=row["sharpened_by"],
        measures=MappingProxyType({measure.name: measure for measure in measures}),
        example_height_m=_number(row["example_height_m"]),
        example_azimuth_deg=_number(row["example_azimuth_deg"]),
    )


def _parts() -> Mapping[str, Part]:
    rows = tables.read("finding_parts")
    return {
        row["part"]: Part(
            row["part"],
            row["label"],
            _number(row["most_times_dbh"]),
            _number(row["most_height_m"]),
        )
        for row in rows
    }


def _kinds() -> Mapping[str, Kind]:
    measures: dict[str, list[Measure]] = {}
    for row in tables.read("finding_measures"):
        measures.setdefault(row["kind"], []).append(_measure(row))
    rows = tables.read("finding_kinds")
    if measures.keys() != {row["kind"] for row in rows}:
        raise ValueError("finding_kinds.csv and finding_measures.csv name different kinds")
    return {row["kind"]: _kind(row, measures[row["kind"]]) for row in rows}


PARTS: Final[Mapping[str, Part]] = MappingProxyType(_parts())
KINDS: Final[Mapping[str, Kind]] = MappingProxyType(_kinds())
# How sure the assessor is of a fungus genus.
FUNGUS_CONFIDENCE: Final = ("certain", "probable", "guess")
