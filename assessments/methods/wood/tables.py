"""Reads the wood tables once: species rows by name, genera, aliases, the catalogue, log weights and scatter."""

import csv
import re
from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final, TypeAlias

METHOD: Final = "wood_tables"
VERSION: Final = 1

FOLDER: Final = Path(__file__).parent
Row: TypeAlias = dict[str, str]


def rows_of(path: Path) -> list[Row]:
    """Read a CSV file as rows of text, `#` lines left out; the public tables are UTF-8 or Latin-1."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        text = path.read_text(encoding="latin-1")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def key(name: str) -> str:
    """Give a name as the tables are asked for it: lower case, single spaces, hybrid sign as x, no cultivar.

    >>> key("Platanus × hispanica 'Pyramidalis'")
    'platanus x hispanica'
    """
    plain = re.sub(r"['‘’\"“(\[].*$", "", name.replace("×", " x ")).strip().lower()
    return " ".join(word for word in plain.split() if word not in ("sp.", "spp.", "sp", "spp"))


@cache
def species() -> Mapping[str, Row]:
    """Rows of wood.csv by key of the botanical name; genus rows (spp.) are left out."""
    rows = rows_of(FOLDER / "wood.csv")
    return MappingProxyType({key(row["scientific"]): row for row in rows if not row["scientific"].endswith(" spp.")})


@cache
def genera() -> Mapping[str, tuple[Row, ...]]:
    """Rows of wood.csv by genus in lower case."""
    found: dict[str, list[Row]] = defaultdict(list)
    for row in rows_of(FOLDER / "wood.csv"):
        found[row["scientific"].split()[0].lower()].append(row)
    return MappingProxyType({genus: tuple(rows) for genus, rows in found.items()})


@cache
def common_names() -> Mapping[str, str]:
    """Key of the botanical name by common name in lower case, where only one species has it."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, row in species().items():
        found[row["common"].lower()].append(name)
    return MappingProxyType({common: names[0] for common, names in found.items() if common and len(names) == 1})


@cache
def aliases() -> Mapping[str, str]:
    """Key of the name that the tables use, by key of another name of the same tree."""
    return MappingProxyType({key(row["name"]): key(row["scientific"]) for row in rows_of(FOLDER / "aliases.csv")})


@cache
def catalogue() -> Mapping[str, Row]:
    """Rows of the Stuttgart catalogue (from memory) by key of the botanical name."""
    return MappingProxyType({key(row["scientific"]): row for row in rows_of(FOLDER / "catalogue.csv")})


@cache
def log_weights() -> Mapping[str, tuple[float, str]]:
    """National Park Service green log weight in kg/m3 and the row's name, by key of species or genus."""
    found = {}
    for row in rows_of(FOLDER / "log_weights.csv"):
        for taxon in row["taxa"].split("|"):
            found[key(taxon)] = (float(row["lb_ft3"]) * 16.0185, row["common"])
    return MappingProxyType(found)


@cache
def scatter() -> Mapping[str, float]:
    """Coefficient of variation of a property of clear green wood within a species, as a fraction."""
    return MappingProxyType(
        {row["property"]: float(row["variation_percent"]) / 100 for row in rows_of(FOLDER / "scatter.csv")}
    )


@cache
def sources() -> Mapping[str, str]:
    """Full reference by source code, with how well it stands."""
    rows = rows_of(FOLDER / "sources.csv")
    return MappingProxyType({row["code"]: f"{row['reference']} ({row['standing']})" for row in rows})


def reference(code: str) -> str:
    """Spell out a source code such as FIA/26.

    >>> reference("FIA/26").startswith("USDA Forest Service FIA")
    True
    """
    return sources()[code.split("/")[0]]
