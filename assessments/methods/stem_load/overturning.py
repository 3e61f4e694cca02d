"""Relative spread of overturning resistance between species, from pulling tests; never an absolute moment.

Rebuild: `python -m assessments.methods.stem_load.overturning FILE.xlsx > .../stem_load/overturning.csv`.
"""

import re
import sys
import xml.etree.ElementTree as ElementTree
import zipfile
from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from statistics import median
from typing import Final

from assessments.methods.wood.tables import rows_of

METHOD: Final = "overturning_relative_spread"
VERSION: Final = 1

TABLE: Final = Path(__file__).parent / "overturning.csv"
TAXA: Final = {
    "acps": "acer pseudoplatanus",
    "acsa": "acer saccharinum",
    "bepe": "betula pendula",
    "fasy": "fagus sylvatica",
    "frex": "fraxinus excelsior",
    "piab": "picea abies",
    "pisy": "pinus sylvestris",
    "plac": "platanus hybrida",
    "po": "populus",
}
_SPACE: Final = {"m": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


@cache
def spread() -> Mapping[str, dict[str, float]]:
    """Tests and relative low (10 %), median and high (90 %) by taxon in lower case; 1 is the median of all tests."""
    names = ("tests", "relative_low", "relative_median", "relative_high")
    return {row["taxon"]: {name: float(row[name]) for name in names} for row in rows_of(TABLE)}


def of(key: str, genus: str) -> dict[str, float] | None:
    """Give the spread of a species, or of its genus where the tests name only that; None without tests.

    >>> of("betula pendula", "betula")["tests"]
    57.0
    """
    return spread().get(key) or spread().get(genus)


def quantile(values: list[float], share: float) -> float:
    """Give a quantile with straight lines between the ordered values.

    >>> quantile([0.0, 1.0, 2.0], 0.25)
    0.5
    """
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


def moments(path: Path) -> dict[str, list[float]]:
    """Read the scaled moments by species code from the workbook as published (third column, codes in the second)."""
    with zipfile.ZipFile(path) as book:
        # Only ever run by a developer on a file that was looked at.
        texts = ElementTree.fromstring(book.read("xl/sharedStrings.xml"))  # noqa: S314
        sheet = ElementTree.fromstring(book.read("xl/worksheets/sheet1.xml"))  # noqa: S314
    words = ["".join(item.itertext()) for item in texts.iterfind("m:si", _SPACE)]
    found: dict[str, list[float]] = defaultdict(list)
    for row in sheet.iterfind(".//m:row", _SPACE):
        cells = {re.sub(r"\d", "", cell.get("r", "")): cell for cell in row.iterfind("m:c", _SPACE)}
        code, value = (cells[column].findtext("m:v", "", _SPACE) for column in ("B", "C"))
        if cells["C"].get("t") != "s":
            found[words[int(code)]].append(float(value))
    return found


def main(path: str) -> None:
    """Write the table to standard output, its notes first."""
    notes = [line for line in TABLE.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    lines = [*notes, "code,taxon,tests,relative_low,relative_median,relative_high"]
    by_code = moments(Path(path))
    middle = median(value for values in by_code.values() for value in values)
    for code, values in sorted(by_code.items()):
        numbers = [quantile(values, share) / middle for share in (0.1, 0.5, 0.9)]
        lines.append(f"{code},{TAXA[code]},{len(values)},{','.join(f'{number:.2f}' for number in numbers)}")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
