"""A city's own codes of species: learned from the rows that have a name beside the code, or from a table of codes.

Nothing is known of any city's list: a code is what stands beside one name, on row after row.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping as Names
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from inventory.intake.folding import fold
from inventory.intake.mapping import Mapping
from inventory.intake.names import Catalogue
from inventory.intake.read import Source, sample
from inventory.intake.table import Bools, Ints, Texts
from inventory.problems import Invalid

# The project's choice: so long is a code at most, and so purely codes stand for names.
LONGEST: Final = 10
PURE: Final = 0.95
# A code is learned where so many of its rows with a name agree.
AGREE: Final = 0.8
MOST: Final = 20_000
LARGEST: Final = 5_000_000


@dataclass(frozen=True)
class Resolved:
    """Names with those that codes told; rows whose name came from a code, and what a contradicted code stands for."""

    names: Texts
    from_code: Bools
    says: Texts


def taxon_key(name: str) -> str:
    """What two names share that name one taxon: genus and epithet, without cultivar and author."""
    return " ".join(fold(name.partition("::")[0] or name).split()[:2])


def resolve(codes: Texts, names: Texts, given: Names[str, str]) -> Resolved:
    """Fill names in from codes: from the table that was given, else from the rows that have both.

    A row with a code that is not known has "code" and the code as its text, so that a person can settle it. A row
    whose name contradicts its code keeps the name, and says so.
    """
    known = {code: given.get(value, "") for code, value in enumerate(codes.values)}
    learned = _learned(codes, names)
    stands_for = [known[code] or learned.get(code, "") for code in range(len(codes.values))]
    values = list(names.values)
    place = {value: at for at, value in enumerate(values)}
    to_name = np.zeros(len(codes.values), np.int64)
    for code, value in enumerate(codes.values):
        # A code is no name: "PINE" may be any Pinus.
        text = stands_for[code] or (value and f"code {value}")
        if text and text not in place:
            place[text] = len(values)
            values.append(text)
        to_name[code] = place[text] if text else 0
    only = np.asarray((codes.codes != 0) & (names.codes == 0))
    filled = np.where(only, to_name[codes.codes], names.codes)
    return Resolved(Texts(filled, values), only, _contradicted(codes, names, stands_for))


def _learned(codes: Texts, names: Texts) -> dict[int, str]:
    """Of each code the commonest name among the rows that agree, where enough do."""
    both = (codes.codes != 0) & (names.codes != 0)
    pairs, counts = np.unique(np.stack([codes.codes[both], names.codes[both]]), axis=1, return_counts=True)
    found: dict[int, Counter[int]] = defaultdict(Counter)
    for code, name, count in zip(*pairs.tolist(), counts.tolist(), strict=True):
        found[code][name] += count
    return {code: name for code, rows in found.items() if (name := _agreed(rows, names.values))}


def _agreed(rows: Counter[int], values: Sequence[str]) -> str:
    taxa: Counter[str] = Counter()
    for name, count in rows.items():
        taxa[taxon_key(values[name])] += count
    (taxon, most), *_ = taxa.most_common(1)
    if most < AGREE * sum(rows.values()):
        return ""
    return max(((n, values[name]) for name, n in rows.items() if taxon_key(values[name]) == taxon))[1]


def _contradicted(codes: Texts, names: Texts, stands_for: Sequence[str]) -> Texts:
    """On the rows whose name is another taxon than their code stands for: what it stands for; else empty."""
    said: Ints = np.zeros(len(codes.codes), np.int64)
    values = ["", *stands_for]
    keys = [taxon_key(name) for name in stands_for]
    taxa = [taxon_key(name) for name in names.values]
    both = np.flatnonzero((codes.codes != 0) & (names.codes != 0))
    if not len(both):
        return Texts(said, [""])
    pairs, place = np.unique(np.stack([codes.codes[both], names.codes[both]]), axis=1, return_inverse=True)
    against = [bool(keys[c]) and not _same(keys[c], taxa[n]) for c, n in zip(*pairs.tolist(), strict=True)]
    rows = both[np.array(against)[place.ravel()]]
    said[rows] = codes.codes[rows] + 1
    return Texts(said, values)


def _same(one: str, other: str) -> bool:
    """Whether two names can be one taxon: the same, or a genus and a species of it."""
    return one == other or f"{one} ".startswith(f"{other} ") or f"{other} ".startswith(f"{one} ")


def table(source: Source, names: Catalogue) -> dict[str, str]:
    """Read a table of codes: which column is the code and which a name is found from the cells. Raises Invalid.

    Two or three columns matter: code, botanical name, everyday name; any other is left out.
    """
    size = source.path.stat().st_size
    if size > LARGEST:
        raise Invalid.field("#/codes", f"a table of codes has at most {LARGEST:,} bytes, this one has {size:,}")
    columns, count = sample(source, MOST)
    if count > MOST:
        raise Invalid.field("#/codes", f"a table of codes has at most {MOST:,} rows, this one has {count:,}")
    latin = _best(columns, names, ("exact", "synonym", "genus", "corrected"))
    common = _best([column if at != latin else [] for at, column in enumerate(columns)], names, ("common",))
    code = _code_column(columns, {latin, common})
    if code is None or (latin is None and common is None):
        raise Invalid.field("#/codes", "no column of codes beside a column of names was found in the table")
    read: dict[str, str] = {}
    for row in zip(*columns, strict=True):
        parts = [row[latin].strip() if latin is not None else ""]
        if common is not None and row[common].strip():
            parts.append(f":: {row[common].strip()}")
        if row[code].strip() and "".join(parts).strip(": "):
            read.setdefault(row[code].strip(), " ".join(filter(None, parts)))
    return read


def into(mapping: Mapping, source: Source, names: Catalogue) -> Mapping:
    """The mapping with the codes of a table beside its own. Raises Invalid."""
    return replace(mapping, codes=tuple((dict(mapping.codes) | table(source, names)).items()))


def _best(columns: Sequence[list[str]], names: Catalogue, hows: tuple[str, ...]) -> int | None:
    """The column of which most texts are matched in one of these ways, if a third of them are."""
    shares = []
    for column in columns:
        texts = {cell for cell in column if cell.strip()}
        shares.append(sum(names.match(text).how in hows for text in texts) / len(texts) if len(texts) > 1 else 0.0)
    best = int(np.argmax(shares)) if shares else 0
    return best if shares and shares[best] >= 1 / 3 else None


def _code_column(columns: Sequence[list[str]], taken: set[int | None]) -> int | None:
    """The column whose texts are each on one row only, short and without spaces: the shortest one."""
    found = []
    for at, column in enumerate(columns):
        cells = [cell.strip() for cell in column if cell.strip()]
        if at in taken or not cells or len(set(cells)) < PURE * len(cells):
            continue
        if sum(len(cell) <= LONGEST and " " not in cell for cell in cells) >= PURE * len(cells):
            lettered = sum(any(map(str.isalpha, cell)) for cell in cells) / len(cells)
            found.append((lettered < 0.5, sum(map(len, cells)) / len(cells), at))
    return min(found)[2] if found else None
