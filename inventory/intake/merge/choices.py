"""What is to be done about each kind of difference: take the file, or keep what stands here."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from inventory.problems import FieldProblem, Invalid

# Each kind, what taking the file does, and whether it is done without being asked for.
ASPECTS: Final[dict[str, tuple[str, bool]]] = {
    "changed": ("take over what the file says anew of a tree; its sizes become new measurements", True),
    "moved": ("put the tree where the file has it", True),
    "appeared": ("record the tree, stump or vacant site", True),
    "gone": ("record the tree as gone where the file has a stump or an empty site", False),
    "vanished": ("record the trees that the file does not have as removed", False),
    "conflict": ("put the file's value over what a person wrote or measured since", False),
    "kept": ("add the file's size as the older measurement that it is; the tree keeps its newer one", False),
    "systematic": ("take what differs from all trees in the same way: a shift of all points, a factor on all sizes",
                   False),
}  # fmt: skip
MOST_SINGLE: Final = 100_000


@dataclass(frozen=True)
class Choices:
    """By kind, and over that by line of the file and by uid of the tree: True takes the file, False keeps ours."""

    kinds: Mapping[str, bool]
    lines: Mapping[int, bool] = field(default_factory=dict)
    trees: Mapping[str, bool] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """As JSON, the way `read` takes it."""
        return {
            "kinds": {name: _word(file) for name, file in self.kinds.items()},
            "lines": {str(line): _word(file) for line, file in self.lines.items()},
            "trees": {uid: _word(file) for uid, file in self.trees.items()},
        }


def _word(file: bool) -> str:
    return "file" if file else "ours"


DEFAULT: Final = Choices({name: asked for name, (_, asked) in ASPECTS.items()})


def take(names: list[str]) -> Choices:
    """The default, and these kinds taken as well. Raises Invalid."""
    return read({"kinds": dict.fromkeys(names, "file")})


def read(given: object) -> Choices:
    """Read `{kinds: {kind: file|ours}, lines: {line: ...}, trees: {uid: ...}}`. Raises Invalid naming wrong keys."""
    if given is None:
        return DEFAULT
    wrong: list[FieldProblem] = []
    if not isinstance(given, dict):
        raise Invalid.field("#/choices", "must be an object with kinds, lines and trees")
    wrong += [FieldProblem(f"#/choices/{n}", "there is no such key") for n in set(given) - {"kinds", "lines", "trees"}]
    kinds = _words(given.get("kinds", {}), "kinds", wrong)
    lines = _words(given.get("lines", {}), "lines", wrong)
    trees = _words(given.get("trees", {}), "trees", wrong)
    wrong += [
        FieldProblem(f"#/choices/kinds/{n}", f"not one of {', '.join(ASPECTS)}") for n in set(kinds) - set(ASPECTS)
    ]
    wrong += [FieldProblem(f"#/choices/lines/{n}", "must be a line number") for n in lines if not _whole(n)]
    wrong += [FieldProblem(f"#/choices/trees/{n}", "must be the uid of a tree") for n in trees if not _uid(n)]
    if wrong:
        raise Invalid.fields(sorted(wrong, key=lambda one: one.pointer))
    return Choices(
        {**DEFAULT.kinds, **kinds},
        {int(n): v for n, v in lines.items()},
        {str(uuid.UUID(n)): v for n, v in trees.items()},
    )


def _words(given: object, name: str, wrong: list[FieldProblem]) -> dict[str, bool]:
    if not isinstance(given, dict) or len(given) > MOST_SINGLE:
        wrong.append(FieldProblem(f"#/choices/{name}", f"must be an object of at most {MOST_SINGLE:,} keys"))
        return {}
    bad = [key for key, word in given.items() if word not in ("file", "ours")]
    wrong += [FieldProblem(f"#/choices/{name}/{key}", "must be file or ours") for key in bad]
    return {str(key): word == "file" for key, word in given.items() if key not in bad}


def _whole(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10


def _uid(text: str) -> bool:
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True
