"""Species names of a foreign file to accepted botanical names, without guessing.

Pure text work, no database. A misspelt name is corrected only where one known name is near, and is marked so.
"""

import itertools
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from inventory.intake.everyday import Everyday
from inventory.intake.folding import fold, settled_key, without_glued_cross
from inventory.intake.not_trees import NotATree, is_not_a_tree
from inventory.intake.spelling import FEW, Speller, distance

__all__ = ["Catalogue", "How", "Match", "NotATree", "Settled", "fold", "is_not_a_tree", "settled_key"]

How = Literal["settled", "exact", "synonym", "corrected", "common", "genus", "none"]
Found: TypeAlias = tuple[str, How] | None

# Words that stand between two names: such a text names more than one taxon.
_BETWEEN = frozenset({"x", "or", "ou", "oder", "and", "und", "et"})
# A genus name followed by one of these is everyday speech ("Acacia de tres espinas" is a Gleditsia).
_PARTICLES = frozenset({"de", "del", "della", "dell", "di", "du", "des", "d", "a", "of", "van", "von"})
# A file says that the species is not known: then its everyday name is not taken for one.
_UNNAMED = re.compile(r"(?<=\s)(?:spp?|sps|ssp|spec|species|hybrids?)\b", re.IGNORECASE)
# A longer text is no name: what was settled is looked up, nothing is searched in it.
LONGEST = 400
_SEGMENTS = re.compile(r"[()\[\]{}:;/|,\n\t]|\s[-–—]\s")


@dataclass(frozen=True, slots=True)
class Match:
    """What a text was found to name.

    ``botanical_name`` is the accepted name, None when ``how`` is "none". ``how`` tells by which kind of
    name: "exact" the accepted name of a species, "synonym" an older or other Latin name, "corrected" a name
    with letters wrong, cut off or in the wrong genus, "common" a name of everyday speech, "genus" a genus in Latin
    (alone, or because the epithet is not known), "settled" what a person settled: a taxon, or none and then ``no_tree``
    tells whether the text names no tree at all.
    """

    botanical_name: str | None
    how: How
    text: str
    no_tree: bool = False


@dataclass(frozen=True, slots=True)
class Settled:
    """What a person settled about a text: a taxon, none (the text alone is kept), or that it names no tree."""

    botanical_name: str | None
    no_tree: bool = False


class Catalogue:
    """All names of the known taxa, ready to be looked up by the text of a foreign file."""

    def __init__(
        self, names: Iterable[tuple[str, str, str, str]], settled: Mapping[str, Settled] | None = None
    ) -> None:
        """Index rows of (accepted botanical name, name, kind, language).

        Kind is "synonym" or "common"; any other kind, and every botanical name itself, counts as accepted.
        Where a common name means two taxa of one genus the genus is kept, otherwise the name is dropped;
        Latin goes before common speech. `settled` goes before all: texts as `settled_key` makes them.
        """
        rows = [(botanical, name, kind) for botanical, name, kind, _language in names]
        accepted = {fold(botanical): botanical for botanical, _name, _kind in rows}
        self._settled = settled or {}
        self._genera = {key: name for key, name in accepted.items() if " " not in key}
        self._latin: dict[str, tuple[str, How]] = {
            key: (name, "genus" if key in self._genera else "exact") for key, name in accepted.items()
        }
        for botanical, name, kind in rows:
            if kind == "synonym":
                self._add_synonym(fold(name), botanical)
        self._closed_up = {key.replace(" ", ""): key for key in self._latin if " " in key}
        self._speller = Speller(self._latin)
        self._everyday = Everyday(((name, bot) for bot, name, kind in rows if kind == "common"), self._agreed)

    def match(self, text: str) -> Match:
        """Find the taxon a text names; never raises and never guesses.

        What a person settled goes first. "Latin :: Common" is tried by its Latin part first; the common part only
        where the Latin part is empty, wholly unknown or a bare genus. Of a known genus with an unknown epithet the
        genus is returned. A known species with more behind it (variety, cultivar, author) is that species.
        """
        if self._settled and (said := self._settled.get(settled_key(text))):
            return Match(said.botanical_name, "settled", text, said.no_tree)
        if len(text) > LONGEST or is_not_a_tree(text):
            return Match(None, "none", text)
        latin, _separator, common = text.partition("::")
        for way in self._ways:
            if found := way(self, latin, common):
                return Match(found[0], found[1], text)
        return Match(None, "none", text)

    def surely(self, text: str) -> str | None:
        """The accepted name of a text that is a name of one taxon as it stands, letter by letter; None for others."""
        found = self._latin.get(fold(text))
        return found[0] if found else self._everyday.one(text)

    def match_many(self, texts: Iterable[str]) -> dict[str, Match]:
        """Match each distinct text once; one entry a text, in order of first appearance."""
        return {text: self.match(text) for text in dict.fromkeys(texts)}

    def _add_synonym(self, key: str, botanical: str) -> None:
        how: How = "genus" if fold(botanical) in self._genera else "synonym"
        self._latin.setdefault(key, (botanical, how))

    def _by_latin(self, text: str, common: str) -> Found:
        """Look up the whole name, else its longest known beginning of at least genus and epithet."""
        words = self._with_known_genus(_latin_words(text))
        key = " ".join(words)
        if found := self._latin.get(key) or self._latin.get(self._closed_up.get(key, "")):
            return self._told_closer(found, text, common)
        if _names_several(words, text):
            return None
        beginnings = (" ".join(words[:length]) for length in range(min(len(words) - 1, 5), 1, -1))
        return next((self._latin[key] for key in beginnings if key in self._latin), None)

    def _with_known_genus(self, words: list[str]) -> list[str]:
        """Read "xcupressocyparis leylandii" without its cross; genera that begin with x stay."""
        if words and words[0].startswith("x") and words[0] not in self._genera and len(words) > 1:
            return [words[0][1:], *words[1:]]
        return words

    def _told_closer(self, found: tuple[str, How], text: str, common: str) -> tuple[str, How]:
        """Of a bare genus: the species in brackets behind it, or the one of it that the everyday name names in full."""
        if found[1] != "genus":
            return found
        if "(" in text and (species := self._by_parts(text, "")) and species[1] != "genus":
            return species
        if not common or " " not in fold(common) or _UNNAMED.search(text):
            return found
        closer = self._everyday.one(common)
        return (closer, "common") if closer and self._genus_in(closer) == found[0] and closer != found[0] else found

    def _by_common(self, text: str, common: str) -> Found:
        name = self._everyday.find(text)
        return (name, "common") if name else None

    def _by_parts(self, text: str, common: str) -> Found:
        """Look up Latin names anywhere in the text, in brackets or behind other words; one taxon or none."""
        segments = [_latin_words(part) for part in _SEGMENTS.split(text)]
        if len(segments) == 1 and len(segments[0]) < 3:
            return None
        # "Quercus robur/petraea" names two: a lone word behind a stroke is an epithet unless it is known.
        lone = "/" in text and any(len(words) == 1 and not self._known(words[0]) for words in segments)
        if lone or any(_names_several(words, "") for words in segments):
            return None
        found = {
            named
            for words in segments
            for pair in itertools.pairwise(words)
            if (named := self._latin.get(" ".join(pair))) and named[1] != "genus"
        }
        if len({name for name, _how in found}) == 1:
            return min(found)
        return self._by_part_of_speech(text) if not found and len(segments) > 1 else None

    def _by_part_of_speech(self, text: str) -> Found:
        """Look up an everyday name in one part where the others name no other taxon than its genus."""
        parts = [part for part in _SEGMENTS.split(text) if part.strip()]
        genera = {name for part in parts if (name := self._genus_of(fold(part)))}
        common = {name for part in parts if not self._genus_of(fold(part)) and (name := self._everyday.one(part))}
        name = self._agreed(common)
        return (name, "common") if name and genera <= {self._genus_in(name)} else None

    def _by_spelling(self, text: str, common: str) -> Found:
        """Look up genus and epithet with letters wrong or cut off; only names of two words that name one taxon."""
        words = _latin_words(text)
        if len(words) < 2 or _names_several(words, text) or not _PARTICLES.isdisjoint(words[1:]):
            return None
        genus, epithet = words[:2]
        if len(words) > (5 if genus in self._genera else 3):
            return None
        if not (genus.isalpha() and epithet.isalpha()):
            return None
        speller = self._speller
        key = speller.correct(genus, epithet) or speller.complete(genus, epithet)
        if not key and len(genus) <= 3:
            key = speller.spell_out(genus, epithet)
        found = self._latin.get(key) if key else None
        return (found[0], "corrected") if found and found[1] != "genus" else None

    def _by_epithet(self, text: str, common: str) -> Found:
        """Look up the everyday name beside a Latin one whose epithet is right and whose genus is not."""
        words = _latin_words(text)
        if len(words) < 2 or not common or len(words[1]) < 5 or _names_several(words, text):
            return None
        name = self._everyday.one(common) or self._everyday.ends(common)
        epithet = fold(name).partition(" ")[2] if name else ""
        return (name, "corrected") if name and epithet and distance(words[1], epithet, FEW) <= FEW else None

    def _by_genus(self, text: str, common: str) -> Found:
        """Look up the first word as a genus, unless the rest shows another genus or everyday speech."""
        words = fold(text).split()
        first = self._genus_of(words[0]) if words else None
        if first is None or not _PARTICLES.isdisjoint(words[1:]):
            return None
        # "Yucca plum pine" is no Yucca: English puts the kind of tree last.
        others = words[1:] if _names_several(words, text) else words[-1:]
        named = {self._genus_of(word) or self._genus_of_common(word) or first for word in others}
        return (first, "genus") if named == {first} or len(words) == 1 else None

    def _by_the_other(self, text: str, common: str) -> Found:
        if not common:
            return None
        return self._by_common(common, "") or self._by_latin(common, "") or self._by_parts(common, "")

    def _by_misspelt_speech(self, text: str, common: str) -> Found:
        name = self._everyday.corrected(text) or (self._everyday.corrected(common) if common else None)
        return (name, "corrected") if name else None

    def _by_misspelt_genus(self, text: str, common: str) -> Found:
        """Look up a genus alone with a letter wrong."""
        words = fold(text).split()
        key = self._speller.genus(words[0], self._genera) if len(words) == 1 else None
        return (self._genera[key], "corrected") if key else None

    def _by_ending(self, text: str, common: str) -> Found:
        """The genus of a known everyday name with which the text ends or begins: a kind of it that is not known."""
        name = self._everyday.ends(text) or (self._everyday.ends(common) if common else None)
        genus = self._genus_in(name) if name else None
        return (genus, "genus") if genus else None

    _ways: tuple[Callable[["Catalogue", str, str], Found], ...] = (
        _by_latin, _by_common, _by_parts, _by_spelling, _by_epithet, _by_genus, _by_the_other, _by_misspelt_speech,
        _by_misspelt_genus, _by_ending,
    )  # fmt: skip

    def _known(self, word: str) -> bool:
        return word in self._latin or self._everyday.of_word(word) is not None

    def _genus_of(self, word: str) -> str | None:
        found = self._latin.get(word)
        return found[0] if found and found[1] == "genus" else None

    def _genus_of_common(self, word: str) -> str | None:
        name = self._everyday.of_word(word)
        return self._genus_in(name) if name else None

    def _genus_in(self, botanical: str) -> str | None:
        return self._genera.get(fold(botanical).partition(" ")[0])

    def _agreed(self, names: set[str]) -> str | None:
        """Return the one name meant, the shared genus of several, or None."""
        if len(names) == 1:
            return next(iter(names))
        genera = {fold(name).partition(" ")[0] for name in names}
        return self._genera.get(genera.pop()) if len(genera) == 1 else None


def _latin_words(text: str) -> list[str]:
    """The folded words of a Latin name: a cross glued to the genus or the epithet and a doubled genus taken off."""
    words = without_glued_cross(fold(text).split())
    return words[1:] if len(words) > 1 and words[0] == words[1] else words


def _names_several(words: list[str], text: str) -> bool:
    return "/" in text or not _BETWEEN.isdisjoint(words)
