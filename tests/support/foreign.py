"""Makes files of invented cities in six languages, with quirks, and tells what each column truly is.

Sizes follow the Urban Tree Database (McPherson, van Doorn & Peper 2016): stems a fifth of the species' largest, heights
and crowns by the allometry of its trees.
"""

import csv
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from inventory import catalogue
from tests.support.foreign_words import CONDITIONS, HELD, LANGUAGES, MONTHS, PLAIN, STREETS, TREES, WORKS

ROWS = 400
# One city of each language's land (longitude, latitude), in open country; the six are far from each other.
PLACES = {"en": (-1.62, 52.41), "de": (11.53, 51.87), "fr": (3.21, 46.44), "es": (-3.88, 39.62), "it": (12.31, 43.33),
          "nl": (5.71, 52.25)}  # fmt: skip
CM_PER = {"cm": 1.0, "mm": 0.1, "in": 2.54, "m": 100.0}
M_PER = {"m": 1.0, "ft": 0.3048, "cm": 0.01}
SUFFIX = {"cm": " (cm)", "mm": "_mm", "in": " in", "m": " [m]", "ft": " ft"}
Truth = dict[str, tuple[str, str]]


@dataclass(frozen=True)
class Quirks:
    """How one file is written."""

    language: str
    stem: str = "dbh"
    stem_unit: str = "cm"
    height_unit: str = "m"
    units_told: bool = True
    height_classes: bool = False
    dates: str = "dmy"
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    quoting: int = csv.QUOTE_MINIMAL
    heading: str = "plain"  # plain, held, slip, short, cut, none
    seed: int = 0


def quirks(seed: int, heading: str = "plain") -> Quirks:
    """Quirks drawn by chance, the same for the same seed."""
    chance = np.random.default_rng(seed)

    def one(*choices: str) -> str:
        return choices[int(chance.integers(len(choices)))]

    language = LANGUAGES[seed % len(LANGUAGES)]
    decimal = "." if language == "en" else one(",", ".")
    stem = one("dbh", "girth", "girth") if language != "en" else one("dbh", "dbh", "girth")
    return Quirks(
        language,
        stem,
        one("in", "cm") if language == "en" and stem == "dbh" else one("cm", "cm", "mm") if stem == "dbh" else "cm",
        one("ft", "m") if language == "en" else "m",
        one("yes", "no") == "yes",
        one("yes", "no", "no") == "yes",
        one("dmy", "ymd", "year", "serial", "epoch_ms", "words"),
        one(";", "\t", "|") if decimal == "," else one(",", ";", "\t"),
        decimal,
        one("utf-8", "utf-8-sig", "cp1252", "utf-16"),
        csv.QUOTE_ALL if one("yes", "no") == "yes" else csv.QUOTE_MINIMAL,
        heading,
        seed,
    )


@cache
def _species() -> dict[str, tuple[float, float]]:
    return {row.botanical_name: (row.max_dbh_cm or math.nan, row.mature_height_m) for row in catalogue.read_species()}


@dataclass
class City:
    """The trees behind a file: SI, row by row."""

    kind: list[int]
    dbh_cm: np.ndarray
    height_m: np.ndarray
    crown_m: np.ndarray
    planted: list[date]
    measured: list[date]
    lon: np.ndarray
    lat: np.ndarray
    street: list[int]
    number: list[int]


def city(language: str, seed: int, rows: int = ROWS) -> City:
    """Trees with the sizes that trees of these species have."""
    chance = np.random.default_rng(seed + 1000)
    kind = chance.integers(len(TREES), size=rows).tolist()
    largest = np.array([_species()[TREES[k][0]][0] for k in kind])
    dbh = np.clip(largest * np.exp(chance.normal(-1.55, 0.6, rows)), 3, largest)
    height = np.clip(np.exp(0.214 + 0.615 * np.log(dbh) + chance.normal(0, 0.2, rows)), 2, 40)
    crown = np.clip(np.exp(-0.458 + 0.733 * np.log(dbh) + chance.normal(0, 0.2, rows)), 1, 28)
    planted = [date(2012, 1, 1) - timedelta(days=int(d * 365)) for d in dbh + chance.uniform(0, 8, rows)]
    measured = [date(2021, 3, 1) + timedelta(days=int(d)) for d in chance.uniform(0, 200, rows)]
    lon, lat = PLACES[language]
    street, number = chance.integers(4, size=rows), chance.integers(1, 140, rows)
    # Four streets side by side; a house is 15 m wide.
    east = lon + number * 0.0002 + chance.normal(0, 0.00002, rows)
    north = lat + street * 0.004 + chance.normal(0, 0.00002, rows)
    return City(kind, dbh, height, crown, planted, measured, east, north, street.tolist(), number.tolist())


def make(path: Path, how: Quirks) -> Truth:
    """Write the file; return what each column is: role, and unit or form."""
    trees, chance = city(how.language, how.seed), np.random.default_rng(how.seed + 5)
    stem = trees.dbh_cm * (math.pi if how.stem == "girth" else 1.0) / CM_PER[how.stem_unit]
    number = _number(how.decimal)
    columns: list[tuple[str, str, list[str]]] = [
        ("key", "", [str(100_000 + 7 * row) for row in range(ROWS)]),
        ("species", "", [TREES[k][0] for k in trees.kind]),
        ("common", "", [TREES[k][1 + LANGUAGES.index(how.language)] for k in trees.kind]),
        (how.stem, how.stem_unit, [number(v, 0 if how.stem_unit != "in" else 1) for v in stem]),
        _height(trees, how, number),
        ("crown", "m", [number(v, 1) for v in trees.crown_m]),
        ("planted", _form(how.dates), [_day(d, how) for d in trees.planted]),
        ("measured", _form(_full(how.dates)), [_day(d, how, _full(how.dates)) for d in trees.measured]),
        ("street", "", [STREETS[how.language][k] for k in trees.street]),
        ("number", "", [str(n) for n in trees.number]),
        ("condition", "", _drawn(CONDITIONS[how.language], chance, (0.6, 0.25, 0.13, 0.02))),
        ("recommendation", "", _drawn(WORKS[how.language], chance, (0.4, 0.1, 0.2, 0.3))),
        ("latitude", "", [number(v, 6) for v in trees.lat]),
        ("longitude", "", [number(v, 6) for v in trees.lon]),
    ]
    headings = [_heading(role, unit, place, how) for place, (role, unit, _) in enumerate(columns, 1)]
    with path.open("w", encoding=how.encoding, errors="replace", newline="") as file:
        writer = csv.writer(file, delimiter=how.delimiter, quoting=how.quoting)  # type: ignore[arg-type]
        if how.heading != "none":
            writer.writerow(headings)
        writer.writerows(zip(*(cells for _, _, cells in columns), strict=True))
    return {heading: (role, unit) for heading, (role, unit, _) in zip(headings, columns, strict=True)}


def _heading(role: str, unit: str, place: int, how: Quirks) -> str:
    if how.heading == "none":
        return f"column {place}"
    words = (HELD if how.heading == "held" else PLAIN)[how.language][role.removesuffix("_class")]
    name = _changed(words[how.seed // len(LANGUAGES) % len(words)], how, place)
    return name + SUFFIX[unit] if how.units_told and unit in SUFFIX and not role.endswith("_class") else name


def _changed(name: str, how: Quirks, place: int) -> str:
    """A heading with a slip of the pen, shortened, or run together and cut to ten letters: by chance, not by hand."""
    chance = np.random.default_rng([how.seed, place])
    if how.heading == "slip":
        return " ".join(_slipped(word, chance) if len(word) > 5 else word for word in name.split())
    if how.heading == "short":
        return "_".join(word[: int(chance.integers(4, 6))] if len(word) > 6 else word for word in name.split())
    return name.replace(" ", "").upper()[:10] if how.heading == "cut" else name


def _slipped(word: str, chance: np.random.Generator) -> str:
    at = int(chance.integers(1, len(word) - 1))
    left, right = word[:at], word[at:]
    slips = (left + right[1:], left + right[1] + right[0] + right[2:], left + right[0] + right)
    return slips[int(chance.integers(3))]


def _height(trees: City, how: Quirks, number: Callable[[float, int], str]) -> tuple[str, str, list[str]]:
    if not how.height_classes:
        scale = M_PER[how.height_unit]
        return (
            "height",
            how.height_unit,
            [number(v / scale, 0 if how.height_unit == "ft" else 1) for v in trees.height_m],
        )
    ends = [5 * int(v // 5) for v in trees.height_m]
    between = {"en": "-", "de": " bis ", "fr": " à ", "es": " a ", "it": " - ", "nl": " tot "}[how.language]
    return "height_class", "m", [f"{low}{between}{low + 5} m" for low in ends]


def _number(decimal: str) -> Callable[[float, int], str]:
    return lambda value, digits: f"{value:.{digits}f}".replace(".", decimal)


def _drawn(words: Sequence[str], chance: np.random.Generator, shares: Sequence[float] | None = None) -> list[str]:
    return [words[n] for n in chance.choice(len(words), ROWS, p=shares)]


def _form(dates: str) -> str:
    return "ymd" if dates == "words" else dates


def _full(dates: str) -> str:
    return "dmy" if dates == "year" else dates


def _day(day: date, how: Quirks, dates: str = "") -> str:
    """A day as the file writes it: by order, as a year, as a spreadsheet's number of days, as milliseconds."""
    match dates or how.dates:
        case "year":
            return str(day.year)
        case "serial":
            return str((day - date(1899, 12, 30)).days)
        case "epoch_ms":
            return str((day - date(1970, 1, 1)).days * 86_400_000)
        case "words":
            return f"{day.day} {MONTHS[how.language].split()[day.month - 1]} {day.year}"
        case "ymd":
            return day.isoformat()
        case _:
            return f"{day.day:02d}{'.' if how.language == 'de' else '/'}{day.month:02d}/{day.year}".replace(
                "/", "." if how.language == "de" else "/"
            )
