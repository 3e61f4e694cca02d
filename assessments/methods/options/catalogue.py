"""The catalogue of alternatives, read from tables/options.csv: what each changes, costs, commits to and asks for."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from assessments.methods import tables
from assessments.methods.catalogue import KINDS as FINDING_KINDS
from assessments.methods.catalogue import PARTS
from assessments.methods.rate_card import ACTIONS

METHOD: Final = "options_catalogue"
VERSION: Final = 1

CHANGES: Final = ("target", "nothing", "part", "load", "tree", "knowledge")


@dataclass(frozen=True)
class Entry:
    """One kind of option. `upkeep` as (action, every, first, last), each as text or empty; `check_months` as text."""

    kind: str
    label: str
    changes: str
    parts: tuple[str, ...]
    findings: tuple[str, ...]
    now: tuple[str, ...]
    upkeep: tuple[tuple[str, str, str, str], ...]
    check: str
    check_months: str
    cautions: tuple[str, ...]


def _upkeep(text: str) -> tuple[str, str, str, str]:
    action, every, first, last = [*text.split(":"), "", "", ""][:4]
    return action, every, first, last


def _entry(row: Mapping[str, str]) -> Entry:
    entry = Entry(
        row["kind"], row["label"], row["changes"], tuple(row["parts"].split()), tuple(row["findings"].split()),
        tuple(row["now"].split()), tuple(_upkeep(one) for one in row["upkeep"].split()), row["check"],
        row["check_months"], tuple(row["cautions"].split("|")),
    )  # fmt: skip
    unknown = [
        *(part for part in entry.parts if part not in PARTS),
        *(kind for kind in entry.findings if kind not in FINDING_KINDS),
        *(action for action in (*entry.now, *(one[0] for one in entry.upkeep)) if action not in ACTIONS),
    ]
    if unknown or entry.changes not in CHANGES:
        raise ValueError(f"options.csv: {entry.kind} names what is not known: {', '.join(unknown) or entry.changes}")
    return entry


ENTRIES: Final[Mapping[str, Entry]] = MappingProxyType({row["kind"]: _entry(row) for row in tables.read("options")})
# In the order in which they are considered: the target first, removal last.
KINDS: Final = tuple(ENTRIES)
