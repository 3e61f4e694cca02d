"""Misspelt Latin names: the one known name within a bounded number of wrong letters, or none at all.

Genus and epithet are corrected each on its own and only where one candidate remains, so that no name is guessed.
"""

import re
from collections.abc import Iterable

# Words shorter than this have too many neighbours to be corrected.
SHORTEST = 5
# Letters that may be wrong in a short and in a long word.
FEW, MORE, LONG = 1, 2, 8
_ENDING = re.compile(r"(?<=[a-z]{3})(?:us|um|a|is|e|ii|i)$")


class Speller:
    """The words of known two-word names, ready to be looked up with letters wrong."""

    def __init__(self, names: Iterable[str]) -> None:
        self._epithets: dict[str, set[str]] = {}
        for name in names:
            genus, _, epithet = name.partition(" ")
            if epithet and " " not in epithet and epithet.isalpha():
                self._epithets.setdefault(genus, set()).add(epithet)
        self._genera_of: dict[str, set[str]] = {}
        for genus, epithets in self._epithets.items():
            for epithet in epithets:
                self._genera_of.setdefault(epithet, set()).add(genus)
        self._shortened: dict[str, set[str]] = {}
        for genus in self._epithets:
            for form in shortened(genus):
                self._shortened.setdefault(form, set()).add(genus)

    def correct(self, genus: str, epithet: str) -> str | None:
        """The known name that is meant, in lower case; None where none or several would do.

        >>> Speller(["acer platanoides", "acer palmatum"]).correct("acre", "platinoides")
        'acer platanoides'
        """
        if genus in self._epithets:
            found = {f"{genus} {known}" for known in self._near(genus, epithet)}
        else:
            # A wrong genus is only believed where its epithet is right to a letter or so.
            found = {f"{known} {word}" for known in self._genera(genus) for word in self._near(known, epithet, FEW)}
        return found.pop() if len(found) == 1 else None

    def complete(self, genus: str, beginning: str) -> str | None:
        """The known name of a genus whose epithet was cut off after at least SHORTEST letters; None unless it is one.

        >>> Speller(["acer platanoides", "acer palmatum"]).complete("acer", "platan")
        'acer platanoides'
        """
        if len(beginning) < SHORTEST:
            return None
        found = {other for other in self._epithets.get(genus, ()) if other.startswith(beginning)}
        return f"{genus} {found.pop()}" if len(found) == 1 else None

    def spell_out(self, letters: str, epithet: str) -> str | None:
        """The known name whose genus is shortened to its first letters: "q robur"; None unless it is one."""
        genera = self._genera_of.get(epithet, set())
        found = {genus for genus in genera if genus.startswith(letters)}
        return f"{found.pop()} {epithet}" if len(found) == 1 else None

    def genus(self, word: str, genera: Iterable[str] = ()) -> str | None:
        """The one known genus that differs by a letter from a long word; None where none or several do."""
        if len(word) <= SHORTEST:
            return None
        known = set(genera)
        found = {one for one in self._genera(word) if not known or one in known}
        return found.pop() if len(found) == 1 else None

    def _genera(self, word: str) -> set[str]:
        if len(word) < SHORTEST - 1:
            return set()
        found = {genus for form in shortened(word) for genus in self._shortened.get(form, ())}
        return {genus for genus in found if distance(word, genus, FEW) <= FEW}

    def _near(self, genus: str, word: str, most: int = MORE) -> set[str]:
        known = self._epithets[genus]
        if word in known:
            return {word}
        if len(word) < SHORTEST:
            return set()
        # A Latin ending follows the gender of the genus, which names change: "Acer rubra" is Acer rubrum.
        if agreeing := {other for other in known if _stem(other) == _stem(word)}:
            return agreeing
        # A right word of another genus is no misspelling: "Acacia salicina" is no Acacia saligna.
        if word in self._genera_of:
            return set()
        most = min(most, FEW if len(word) < LONG else MORE)
        # Hardly anybody misspells the first letter: "Eucalyptus dunnii" is no Eucalyptus gunnii.
        alike = [other for other in known if other[0] == word[0]]
        for wrong in range(1, most + 1):
            if found := {other for other in alike if distance(word, other, wrong) <= wrong}:
                return found
        return set()


def _stem(epithet: str) -> str:
    """An epithet without the ending of its gender or case."""
    return _ENDING.sub("", epithet)


def shortened(word: str) -> set[str]:
    """Give the word and the word without each of its letters: two words a letter apart share one of these."""
    return {word, *(word[:at] + word[at + 1 :] for at in range(len(word)))}


def distance(one: str, other: str, most: int) -> int:
    """How many letters must be added, left out, replaced or swapped with the next; `most` + 1 where it is more.

    >>> distance("platanoides", "platinoides", 2), distance("acer", "acre", 1), distance("acer", "tilia", 1)
    (1, 1, 2)
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before, row = [0] * (len(other) + 1), list(range(len(other) + 1))
    for at, letter in enumerate(one, 1):
        after = [at, *[0] * len(other)]
        for to, another in enumerate(other, 1):
            after[to] = min(row[to] + 1, after[to - 1] + 1, row[to - 1] + (letter != another))
            if at > 1 and to > 1 and letter == other[to - 2] and one[at - 2] == another:
                after[to] = min(after[to], before[to - 2] + 1)
        if min(after) > most:
            return most + 1
        before, row = row, after
    return min(row[-1], most + 1)
