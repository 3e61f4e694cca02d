"""The published tables and the project's own choices, as CSV and JSON files that name their sources."""

from collections.abc import Iterator
from csv import DictReader
from pathlib import Path

FOLDER = Path(__file__).parent


def _lines(path: Path) -> Iterator[str]:
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith("#"):
            yield line


def read(name: str) -> list[dict[str, str]]:
    """Read the rows of one table as text cells, stripped; `#` lines are notes, so is the first (`# source:`).

    Raises ValueError where a row has more or fewer cells than the header.
    """
    rows = []
    for row in DictReader(_lines(FOLDER / f"{name}.csv")):
        if None in row or None in row.values():
            raise ValueError(f"{name}.csv: row {row} does not match its header")
        rows.append({key: value.strip() for key, value in row.items()})
    return rows


def source(name: str) -> str:
    """Give the `# source:` line of a table, or an empty string where its rows carry their own."""
    first = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").split("\n", 1)[0]
    return first.removeprefix("# source:").strip() if first.startswith("# source:") else ""
