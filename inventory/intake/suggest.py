"""Suggests taxa for a text that names none surely: known names that share letters with it, and how they were found."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from inventory.intake.folding import fold, plain_words
from inventory.intake.names import Match

# The project's choice: how much of two names must be alike (Dice's coefficient of their letter triples).
ALIKE: Final = 0.5
MOST: Final = 4
LONGEST: Final = 200
_HOW: Final = {"genus": "the genus it begins with", "corrected": "with letters corrected", "common": "everyday name"}


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A taxon that may be meant: by which of its names, how that was found, and how much the two are alike (0 to 1)."""

    botanical_name: str
    name: str
    found: str
    likeness: float


class Suggester:
    """All names of the known taxa by their letter triples."""

    def __init__(self, rows: Iterable[tuple[str, str, str, str]]) -> None:
        """Index rows of (accepted botanical name, name, kind, language)."""
        self._names: list[tuple[str, str, str, frozenset[str]]] = []
        self._places: dict[str, list[int]] = {}
        for botanical, name, kind, _language in rows:
            triples = _triples(fold(name))
            for triple in triples:
                self._places.setdefault(triple, []).append(len(self._names))
            self._names.append((botanical, name, _told(kind), triples))

    def suggest(self, match: Match) -> list[Suggestion]:
        """The best few taxa for a matched text: what the matcher found first, then the names most like it."""
        best: dict[str, Suggestion] = {}
        if match.botanical_name:
            told = _HOW.get(match.how, match.how)
            best[match.botanical_name] = Suggestion(match.botanical_name, match.botanical_name, told, 1.0)
        text = match.text[:LONGEST]
        latin, _, common = text.partition("::")
        alike = [one for part in dict.fromkeys((latin, common, text)) if part.strip() for one in self._alike(part)]
        for one in sorted(alike, key=lambda one: (-one.likeness, one.botanical_name)):
            best.setdefault(one.botanical_name, one)
        return list(best.values())[:MOST]

    def _alike(self, text: str) -> list[Suggestion]:
        triples = _triples(fold(text))
        shared = Counter(place for triple in triples for place in self._places.get(triple, ()))
        found = []
        for place, common in shared.most_common(200):
            botanical, name, told, others = self._names[place]
            # A name that stands in the text as a whole counts though the text says more.
            likeness = max(2 * common / (len(triples) + len(others)), 0.6 * common / len(others))
            if likeness >= ALIKE:
                found.append(Suggestion(botanical, name, told, round(likeness, 2)))
        return found


def _told(kind: str) -> str:
    return {"synonym": "like its older name", "common": "like its everyday name"}.get(kind, "like its botanical name")


def _triples(key: str) -> frozenset[str]:
    """The letter triples of each word, its beginning and end marked."""
    return frozenset(f"  {word} "[at : at + 3] for word in plain_words(key) for at in range(len(word) + 1))
