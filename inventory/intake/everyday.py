"""Names of everyday speech: as written, turned round, closed up, or with one word misspelt; six languages alike.

A name of two taxa of one genus means the genus; of two genera it means nothing.
"""

import re
from collections.abc import Callable, Iterable
from functools import cached_property

from inventory.intake.folding import fold, words_of
from inventory.intake.spelling import FEW, SHORTEST, distance, shortened

_PARTS = re.compile(r"\s*(?::|;|/|\s[-–—]\s)\s*")
_TURNS = re.compile(r"\s*(?:[,;:/|]|\s[-–—]\s)\s*")
# A name of more words is hardly turned round or misspelt in one word only.
MOST_WORDS = 4
_TREES = re.compile(r" trees?$")
_PLURAL = re.compile(r"(?<=\w\w\w)s$")
_PLURALS = re.compile(r"(?<=[hsx])es$")
# Written without its two dots: "ahornblaettrig".
_UMLAUT = re.compile(r"([aou])e")
# A name closed up is told from others by its letters only where it has so many.
LONG = 9

Agreed = Callable[[set[str]], str | None]


class Everyday:
    """The everyday names of the known taxa."""

    def __init__(self, pairs: Iterable[tuple[str, str]], agreed: Agreed) -> None:
        """`pairs` of (name, botanical name); `agreed` gives the one taxon that several names mean, or None."""
        self._agreed = agreed
        self._names = self._unambiguous((fold(name), botanical) for name, botanical in pairs)
        self._closed_up = self._unambiguous((key.replace(" ", ""), name) for key, name in self._names.items())

    def of_word(self, word: str) -> str | None:
        """The taxon of a name that is one folded word."""
        return self._names.get(word)

    def find(self, text: str) -> str | None:
        """Look up a name as written, turned round ("Maple, Norway"), or alternatives that agree."""
        whole = self._one(text) or self._turned(text)
        return whole or self._agreed({name for part in _PARTS.split(text) if (name := self._one(part))})

    def one(self, text: str) -> str | None:
        """Look up a name as written or turned round."""
        return self._one(text) or self._turned(text)

    def corrected(self, text: str) -> str | None:
        """Look up a name of which one word has one letter wrong, where one known name remains."""
        for form in (text, *_turnings(text)):
            key = _key(form).split()
            for words in dict.fromkeys((tuple(key), (*key[1:], *key[:1]))):
                found = self._misspelt(words) if len(words) <= MOST_WORDS else set()
                if name := self._agreed({self._names[one] for one in found}):
                    return name
        return self._misspelt_closed_up(_key(text))

    def ends(self, text: str) -> str | None:
        """The taxon of the longest known name of two words or more with which the text ends, or begins.

        English puts the kind of tree last, other languages put it first. It tells the genus; whether it tells the
        species needs more evidence ("California black oak" is no black oak).
        """
        words = _key(text).split()
        cuts = [(words[at:], words[:-at]) for at in range(1, len(words) - 1)]
        for last, first in cuts:
            found = {name for part in (last, first) if (name := self._names.get(" ".join(part)))}
            if found:
                return self._agreed(found)
        return None

    def _one(self, text: str) -> str | None:
        """Look up one name; "littleleaf" is "little-leaf", the word "tree" may be missing, several are one."""
        key = _key(text)
        forms = (key, *(ending.sub("", key) for ending in (_TREES, _PLURAL, _PLURALS)), _UMLAUT.sub(r"\1", key))
        for form in dict.fromkeys(forms):
            if found := self._names.get(form) or self._closed_up.get(form.replace(" ", "")):
                return found
        return None

    def _turned(self, text: str) -> str | None:
        for form in _turnings(text):
            if found := self._one(form):
                return found
        words = _key(text).split()
        if 2 <= len(words) <= MOST_WORDS:
            return self._names.get(" ".join([*words[1:], words[0]]))
        return None

    def _misspelt(self, words: tuple[str, ...]) -> set[str]:
        """The known names that differ in one letter of one word; a word that stands in other names is right."""
        found: set[str] = set()
        for at, word in enumerate(words):
            # A word alone has more neighbours than one among others.
            if len(word) < SHORTEST + (len(words) == 1) or word in self._words or not word.isalpha():
                continue
            rest = (*words[:at], "", *words[at + 1 :])
            near = {other for form in shortened(word) for other in self._gaps.get((rest, form), ())}
            found |= {" ".join((*words[:at], other, *words[at + 1 :])) for other in near if _close(word, other)}
        return found

    def _misspelt_closed_up(self, word: str) -> str | None:
        """Of one long word: the name that it is closed up, with a letter wrong ("horsechesnut")."""
        if len(word) < LONG or not word.isalpha():
            return None
        near = {other for form in shortened(word) for other in self._closed_gaps.get(form, ())}
        return self._agreed({self._closed_up[other] for other in near if _close(word, other)})

    @cached_property
    def _words(self) -> set[str]:
        return {word for name in self._names for word in name.split()}

    @cached_property
    def _gaps(self) -> dict[tuple[tuple[str, ...], str], set[str]]:
        """Of each name and each of its words: the other words, with the word and the word short of a letter."""
        gaps: dict[tuple[tuple[str, ...], str], set[str]] = {}
        for name in self._names:
            words = tuple(name.split())
            for at, word in enumerate(words if len(words) <= MOST_WORDS else ()):
                rest = (*words[:at], "", *words[at + 1 :])
                for form in shortened(word):
                    gaps.setdefault((rest, form), set()).add(word)
        return gaps

    @cached_property
    def _closed_gaps(self) -> dict[str, set[str]]:
        """Each name closed up, by itself and by itself short of a letter."""
        gaps: dict[str, set[str]] = {}
        for name in self._closed_up:
            for form in shortened(name) if len(name) >= LONG else ():
                gaps.setdefault(form, set()).add(name)
        return gaps

    def _unambiguous(self, pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
        """Keep the keys that mean one taxon, or taxa of one genus, which then stands for them."""
        meanings: dict[str, set[str]] = {}
        for key, botanical in pairs:
            meanings.setdefault(key, set()).add(botanical)
        agreed = {key: self._agreed(names) for key, names in meanings.items()}
        return {key: name for key, name in agreed.items() if name}


def _close(word: str, other: str) -> bool:
    return len(other) >= SHORTEST - 1 and distance(word, other, FEW) <= FEW


def _key(text: str) -> str:
    """The folded words of a text without any cultivar."""
    return " ".join(word for word in words_of(fold(text)) if not word.startswith("'"))


def _turnings(text: str) -> list[str]:
    """The text turned round at its commas or other signs: "Oak, Live, Coast" is "Coast Live Oak"."""
    parts = [part for part in _TURNS.split(text) if part.strip()]
    return [" ".join(reversed(parts))] if 2 <= len(parts) <= MOST_WORDS else []
