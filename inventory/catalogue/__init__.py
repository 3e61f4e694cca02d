"""The species catalogue as reference data: two tables in CSV and their strict readers.

Where the facts come from is written in SOURCES.md beside this file.
"""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeVar

T = TypeVar("T")
Word = TypeVar("Word", bound=str)

Rank = Literal["species", "genus", "hybrid"]
Walling = Literal["strong", "moderate", "weak", "unknown"]
Tolerance = Literal["good", "moderate", "poor", "unknown"]
Kind = Literal["synonym", "common"]
Language = Literal["la", "en", "fr", "de", "es", "it", "nl"]

SPECIES_FILE = Path(__file__).with_name("species.csv")
NAMES_FILE = Path(__file__).with_name("names.csv")

RANKS: tuple[Rank, ...] = ("species", "genus", "hybrid")
WALLING: tuple[Walling, ...] = ("strong", "moderate", "weak", "unknown")
TOLERANCES: tuple[Tolerance, ...] = ("good", "moderate", "poor", "unknown")
KINDS: tuple[Kind, ...] = ("synonym", "common")
LANGUAGES: tuple[Language, ...] = ("la", "en", "fr", "de", "es", "it", "nl")


@dataclass(frozen=True, slots=True)
class SpeciesRow:
    """One taxon. A genus carries the largest sizes of its species, so it is a bound and no typical size.

    ``epithet`` is empty for a genus and the cultivar in quotes for a hybrid that has no epithet;
    ``max_dbh_cm`` is the largest credible diameter of a street tree, for finding impossible entries.
    """

    botanical_name: str
    rank: Rank
    genus: str
    epithet: str
    family: str
    common_en: str
    mature_height_m: float
    mature_crown_m: float
    max_dbh_cm: float
    walls_off_decay: Walling
    root_tolerance: Tolerance
    palm: bool
    evergreen: bool


@dataclass(frozen=True, slots=True)
class NameRow:
    """Another name of a taxon; a synonym has the language "la"."""

    botanical_name: str
    name: str
    language: Language
    kind: Kind


def read_species(path: Path = SPECIES_FILE) -> list[SpeciesRow]:
    """Read the taxa; raises ValueError naming line and column of the first bad cell."""
    return [_species(cells) for cells in _cells(path, tuple(SpeciesRow.__dataclass_fields__))]


def read_names(path: Path = NAMES_FILE) -> list[NameRow]:
    """Read the other names; raises ValueError naming line and column of the first bad cell."""
    return [_name(cells) for cells in _cells(path, tuple(NameRow.__dataclass_fields__))]


def every_name() -> Iterator[tuple[str, str, str, str]]:
    """Yield (accepted botanical name, name, kind, language): accepted names first, then all others.

    The kind of an accepted name is "accepted"; this is what the matching of names is built from.
    """
    for row in read_species():
        yield row.botanical_name, row.botanical_name, "accepted", "la"
    for other in read_names():
        yield other.botanical_name, other.name, other.kind, other.language


@dataclass(frozen=True, slots=True)
class _Cells:
    """The cells of one line, each read with a check that can say where it failed."""

    file: str
    line: int
    values: dict[str, str]

    def read(self, column: str, reader: Callable[[str], T]) -> T:
        """Read one cell; ValueError names the file, the line and the column."""
        try:
            return reader(self.values[column])
        except ValueError as reason:
            raise ValueError(f"{self.file}, line {self.line}, column {column}: {reason}") from None


def _cells(path: Path, columns: tuple[str, ...]) -> Iterator[_Cells]:
    """Yield the lines of a CSV file whose header is exactly the given columns."""
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file, strict=True)
        header = tuple(next(reader, ()))
        if header != columns:
            raise ValueError(f"{path.name}, line 1: the columns must be {', '.join(columns)}")
        for values in reader:
            if len(values) != len(columns):
                raise ValueError(f"{path.name}, line {reader.line_num}: {len(values)} cells, not {len(columns)}")
            yield _Cells(path.name, reader.line_num, dict(zip(columns, values, strict=True)))


def _species(cells: _Cells) -> SpeciesRow:
    rank = cells.read("rank", _one_of(RANKS))
    return SpeciesRow(
        botanical_name=cells.read("botanical_name", _text),
        rank=rank,
        genus=cells.read("genus", _text),
        epithet=cells.read("epithet", _nothing if rank == "genus" else _text),
        family=cells.read("family", _text),
        common_en=cells.read("common_en", _text),
        mature_height_m=cells.read("mature_height_m", _size),
        mature_crown_m=cells.read("mature_crown_m", _size),
        max_dbh_cm=cells.read("max_dbh_cm", _size),
        walls_off_decay=cells.read("walls_off_decay", _one_of(WALLING)),
        root_tolerance=cells.read("root_tolerance", _one_of(TOLERANCES)),
        palm=cells.read("palm", _truth),
        evergreen=cells.read("evergreen", _truth),
    )


def _name(cells: _Cells) -> NameRow:
    kind = cells.read("kind", _one_of(KINDS))
    # A synonym is Latin and a common name is not.
    languages = tuple(language for language in LANGUAGES if (language == "la") == (kind == "synonym"))
    return NameRow(
        botanical_name=cells.read("botanical_name", _text),
        name=cells.read("name", _text),
        language=cells.read("language", _one_of(languages)),
        kind=kind,
    )


def _text(cell: str) -> str:
    if not cell or cell != " ".join(cell.split()):
        raise ValueError(f"{cell!r} is empty or has stray spaces")
    return cell


def _nothing(cell: str) -> str:
    if cell:
        raise ValueError(f"{cell!r} where nothing may stand")
    return cell


def _size(cell: str) -> float:
    size = float(cell)
    if not 0 < size < 1000:
        raise ValueError(f"{cell!r} is not a size between 0 and 1000")
    return size


def _truth(cell: str) -> bool:
    return _one_of(("true", "false"))(cell) == "true"


def _one_of(words: tuple[Word, ...]) -> Callable[[str], Word]:
    """Return a reader that takes only these words."""

    def read(cell: str) -> Word:
        for word in words:
            if word == cell:
                return word
        raise ValueError(f"{cell!r} is none of {', '.join(words)}")

    return read
