"""A merge in the words of its page: the kinds of rows, the fields that differ, values with units, marks on a map."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import F
from django.utils.safestring import SafeString

from api.pages import places_plan, words
from inventory import units
from inventory.intake.merge import queries
from inventory.intake.merge.choices import ASPECTS
from inventory.models import IntakeMerge, IntakeMergeRow
from inventory.rules import FOOT_M, INCH_CM

# Kind, what it is called, what it means; in the order in which a person should look at them.
KINDS: Final[dict[str, tuple[str, str]]] = {
    "changed": ("Changed", "The same tree, with something else about it."),
    "moved": ("Moved", "The same tree, in another place."),
    "appeared": ("New in the file", "A tree, stump or vacant site that is not here."),
    "gone": ("Gone by the file", "A tree stands here; the file has a stump or an empty site."),
    "returned": ("Standing again", "Here it is a stump or removed; the file has a tree."),
    "vanished": ("Not in the file any more", "An earlier file had the tree; this one does not."),
    "ambiguous": ("Not clear which", "Several trees here could be meant: nothing is guessed."),
    "refused": ("Refused", "The row cannot be used; its reasons are with it."),
    "only_ours": ("Only here", "Recorded by a person, never from a file: left alone."),
    "same": ("The same", "Nothing differs."),
}
MARKED: Final = ("appeared", "vanished", "moved")
MOST_MARKS: Final = 600
FIELDS: Final = {
    "key": "Number",
    "species": "Species",
    "planted": "Planting date",
    "state": "State",
    "note": "Remark",
    "location": "Place",
    "house_number": "House number",
    "place": "Place in words",
    "strip_width_m": "Width of the growing space",
    "dbh": "Stem diameter",
    "crown": "Crown width",
}
_SIZES: Final = {"dbh": "cm", "height": "m", "crown": "m", "strip_width_m": "m"}
_US: Final = {"cm": (INCH_CM, "in"), "m": (FOOT_M, "ft")}
STANDINGS: Final = {
    "free": "nobody has touched it here",
    "conflict": "a person wrote or measured ours",
    "kept": "ours is newer",
    "systematic": "all trees differ so",
}
ASPECT_WORDS: Final = {
    "changed": "Changes of trees",
    "moved": "Trees that moved",
    "appeared": "Trees new in the file",
    "gone": "Trees gone by the file",
    "vanished": "Trees not in the file any more",
    "conflict": "What a person wrote or measured since",
    "kept": "Sizes older than ours",
    "systematic": "What differs for all trees alike",
}


@dataclass(frozen=True)
class Change:
    """One difference of a row: from what to what, how it stands, whether the file is taken."""

    field: str
    ours: str
    file: str
    standing: str
    taken: bool


@dataclass(frozen=True)
class Told:
    """One row of a merge; `choice` is the name of its select, `chosen` what a person picked for it alone."""

    line: int | None
    tree: Any
    kind: str
    what: str
    where: str
    moved_m: float | None
    changes: list[Change]
    details: Sequence[str]
    taken: bool
    choice: str
    chosen: str


@dataclass(frozen=True)
class Aspect:
    """One kind of difference to be decided for all at once."""

    name: str
    title: str
    does: str
    count: int
    chosen: str
    usual: str


def field_name(field: str) -> str:
    """The words for a field.

    >>> field_name("dbh"), field_name("growing_space")
    ('Stem diameter', 'Growing space')
    """
    return FIELDS.get(field) or words.say(field)


def value(field: str, given: Any, system: str) -> str:
    """A value of a field with its unit in the reader's system."""
    if given is None or given == "":
        return "unknown"
    if field == "location":
        return f"{given[0]:.6f}, {given[1]:.6f}"
    if field in _SIZES:
        ends = given if isinstance(given, list) else [given]
        return " to ".join("open" if end is None else _size(end, _SIZES[field], system) for end in ends)
    return words.say(given) if field in ("state", "growing_space") else str(given)


def _size(number: float, unit: str, system: str) -> str:
    """A size with as many digits as tell half an inch from none.

    >>> _size(31.75, "cm", "us").split(), _size(3.048, "m", "si").split()
    (['12.5', 'in'], ['3.048', 'm'])
    """
    step, name = _US[unit] if system == units.US else (1.0, unit)
    return f"{number / step:.4g}\u00a0{name}"


def told(row: IntakeMergeRow, choices: Mapping[str, Mapping[str, str]], system: str) -> Told:
    """One row as it is shown."""
    about = row.about
    name, chosen = "", ""
    if row.line is not None:
        name, chosen = f"line-{row.line}", choices.get("lines", {}).get(str(row.line), "")
    elif row.tree_uid:
        name, chosen = f"tree-{row.tree_uid}", choices.get("trees", {}).get(str(row.tree_uid), "")
    street = " ".join(str(about[part]) for part in ("street", "house_number") if about.get(part))
    return Told(
        row.line, row.tree_uid, row.kind, str(about.get("species") or words.say(about.get("state", ""))),
        ", ".join(filter(None, (str(about.get("key", "")), street or str(about.get("place", ""))))),
        row.distance_m if row.kind == "moved" else None,
        [_change(one, system) for one in row.differences], row.details, row.taken,
        "" if row.kind in ("refused", "ambiguous", "only_ours", "same", "returned") else name, chosen,
    )  # fmt: skip


def _change(one: Mapping[str, Any], system: str) -> Change:
    field = one["field"]
    return Change(
        field_name(field),
        value(field, one["ours"], system),
        value(field, one["file"], system),
        STANDINGS.get(one["standing"], ""),
        one["taken"],
    )


def kinds(counts: Mapping[str, Any]) -> list[tuple[str, str, str, int]]:
    """Each kind with its name, meaning and number of rows; those without rows left out."""
    return [(kind, *said, counts["kinds"][kind]) for kind, said in KINDS.items() if counts["kinds"].get(kind)]


def fields(counts: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each field that differs anywhere, with its counts."""
    return [{"name": name, "title": field_name(name), **numbers} for name, numbers in counts["fields"].items()]


def aspects(made: IntakeMerge) -> list[Aspect]:
    """The choices by kind, those first of which there is something to decide."""
    picked = made.choices.get("kinds", {})
    counts = made.counts
    numbers = {
        **counts["kinds"],
        **{name: sum(one[name] for one in counts["fields"].values()) for name in ("conflict", "kept", "systematic")},
    }
    return [
        Aspect(
            name, ASPECT_WORDS.get(name, words.say(name)), does, numbers.get(name, 0),
            picked.get(name, _word(usual)), _word(usual),
        )
        for name, (does, usual) in ASPECTS.items() if numbers.get(name)
    ]  # fmt: skip


def _word(file: bool) -> str:
    return "file" if file else "ours"


def plan(made: IntakeMerge, system: str) -> tuple[SafeString, dict[str, int]]:
    """A map of what is new, gone and moved, and how many of each are drawn; empty where there is none."""
    layers = {kind: _marks(made, kind) for kind in MARKED if made.counts["kinds"].get(kind)}
    drawn = {kind: len(points) for kind, points in layers.items() if points}
    if not drawn:
        return SafeString(""), {}
    said = ", ".join(f"{KINDS[kind][0].lower()}: {count:,}" for kind, count in drawn.items())
    return places_plan.draw(f"Plan of what differs. {said}", layers, (), system), drawn


def _marks(made: IntakeMerge, kind: str) -> list[tuple[float, float]]:
    """Places of rows of a kind, evenly over them."""
    step = max(1, -(-made.counts["kinds"][kind] // MOST_MARKS))
    found = queries.rows(made, kind).annotate(turn=F("pk") % step).filter(turn=0).values_list("about", flat=True)
    return [(about["lon"], about["lat"]) for about in found[:MOST_MARKS] if {"lon", "lat"} <= set(about)]
