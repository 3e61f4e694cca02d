"""Texts of a city that a person has mapped to our words, where the word lists read them wrongly or not at all."""

from collections.abc import Callable, Iterable
from typing import Final

from inventory.intake import words

# Role of the column -> our words for it, and how a text is read where nobody has said.
OURS: Final[dict[str, tuple[tuple[str, ...], Callable[[str], str]]]] = {
    "condition": (words.GRADES, words.grade_of),
    "recommendation": (words.WORKS, words.work_of),
    "state": (words.STATES, words.state_of),
}
# What a condition of these grades says of the state.
_STATES: Final = {"dead": "dead", "stump": "stump"}
MOST, LONGEST = 500, 500


def folded(text: str) -> str:
    """A text as it is compared: without outer space and capitals."""
    return text.strip().casefold()


def reader(role: str, own: Iterable[tuple[str, str]]) -> Callable[[str], str]:
    """How a column of a role is read: its own words first (an empty one means nothing), then the word lists.

    >>> read = reader("condition", [("Klasse 2", "fair")])
    >>> read("klasse 2 "), read("gut"), read("?")
    ('fair', 'good', '')
    """
    said, ours = {folded(text): word for text, word in own}, OURS[role][1]
    return lambda cell: said[key] if (key := folded(cell)) in said else ours(cell)


def state_reader(role: str, own: Iterable[tuple[str, str]]) -> Callable[[str], str]:
    """How a column of states or conditions tells the state of a tree; empty where it says nothing of it.

    >>> read = state_reader("condition", [("mort", ""), ("fini", "dead")])
    >>> read("mort"), read("fini"), read("souche")
    ('', 'dead', 'stump')
    """
    said = {folded(text): word for text, word in own}
    if role == "condition":
        said = {text: _STATES.get(grade, "") for text, grade in said.items()}
    return lambda cell: said[key] if (key := folded(cell)) in said else words.state_of(cell)
