"""Species names of a foreign file to accepted botanical names, without guessing.

Pure text work, no database. A misspelt name is corrected only where one known name is near, and is marked so.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from inventory.intake.spelling import Speller

How = Literal["exact", "synonym", "corrected", "common", "genus", "none"]
NotATree = Literal["vacant", "stump"]

# Every sign a city has used around a cultivar or as an apostrophe, the signs of a hybrid, and the letters
# that do not come apart into a letter and an accent.
_SIGNS = str.maketrans(
    dict.fromkeys('`´‘’‚‛“”„"′″ʻʼ', "'")
    | dict.fromkeys("×✕✖⨯", " x ")
    | {"œ": "oe", "Œ": "OE", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L"}
)
_CULTIVAR = re.compile(r"(?<=\s)'+(?=\S)(.*?)(?:'+(?!\w)|\Z)", re.DOTALL)
_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_AUTHOR = re.compile(r"(?<=[a-z])\s+[A-Z][\w.-]*\.(?:\s+(?:ex|et|&|f\.)|\s+[A-Z][\w.-]*\.)*(?=\s|\Z)")
_POSSESSIVE = re.compile(r"(?<=\w)'+s\b")
_WORD = re.compile(r"[^\W_]+")
_ALTERNATIVES = re.compile(r"\s*(?::|;|/|\s[-–]\s)\s*")

_RANKS = frozenset({"subsp", "ssp", "var", "subvar", "forma", "f"})
_UNNAMED = frozenset({"sp", "spp", "sps", "spec", "species", "cv", "cvs", "indet"})
_HYBRID = frozenset({"hybrid", "hybrids"})
_CROSS = frozenset({"x", "xx"})
# Words that stand between two names: such a text names more than one taxon.
_BETWEEN = frozenset({"x", "or", "ou", "oder", "and", "und", "et"})
# A genus name followed by one of these is everyday speech ("Acacia de tres espinas" is a Gleditsia).
_PARTICLES = frozenset({"de", "del", "della", "dell", "di", "du", "des", "d", "a", "of", "van", "von"})

_STUMP = re.compile(
    r"^(?:tree )?stumps?\b|\bstump$|^souches?\b|^tocon(?:es)?\b|^(?:stobben?|(?:boom)?stronk(?:en)?)\b"
    r"|^(?:baum|wurzel)?(?:stumpf|stubben|strunk)\b|^wurzelstock\b"
)
_VACANT = re.compile(
    r"^(?:vacant|empty)$|^(?:vacant|empty|open|potential|available|future|proposed)(?: tree| planting)*"
    r" (?:site|space|spot|well|pit|basin|location)s?\b|^planting (?:site|space|spot|pit|basin)s?\b"
    r"|^(?:no )?room for (?:re)?plant\w*|^no tree(?: here| present| at this site)?$"
    r"|^(?:emplacement|fosse|place|site|trou)(?: de plantation)? (?:vide|vacante?|libre|non plantee?)\b"
    r"|^vide$|^(?:sans|pas d) arbre$"
    r"|^leeg$|^(?:lege|vacante) (?:boom|plant|plek|plaats)\w*|^geen boom$"
    r"|^(?:leer|frei|unbepflanzt)\w* (?:standort|baumscheibe|baumstandort|pflanz\w*|platz|stelle)\b"
    r"|^leer$|^leerstelle$|^kein baum$|^(?:standort|baumscheibe|baumstandort) (?:leer|frei|unbepflanzt)$"
    r"|^vaci[oa]$|^(?:alcorque|hoyo|plaza|posicion|sitio|hueco)(?: de arbol)? (?:vaci[oa]|libre|vacante)\b"
    r"|^(?:alcorque )?sin arbol$|^marra$"
)


@dataclass(frozen=True, slots=True)
class Match:
    """What a text was found to name.

    ``botanical_name`` is the accepted name, None when ``how`` is "none". ``how`` tells by which kind of
    name: "exact" the accepted name of a species, "synonym" an older or other Latin name, "corrected" a Latin name
    with letters wrong, "common" a name of everyday speech, "genus" a genus in Latin (alone, or because the epithet
    is not known).
    """

    botanical_name: str | None
    how: How
    text: str


def fold(text: str) -> str:
    """Return the text in the one form in which names are compared; folding twice changes nothing.

    Case, accents, brackets, authors, rank words, "sp.", the sign of a hybrid and the cultivar are taken
    away. Two things stay because they carry the meaning: the cultivar of a plant that has no epithet
    (``arbutus 'marina'``) and the cross between two epithets (``abies koreana x lasiocarpa``).

    >>> fold("PLATANUS x Acerifolia (Aiton) Willd. 'Bloodgood'")
    'platanus acerifolia'
    """
    plain = _unaccented(text)
    bare = _BRACKETS.sub(" ", plain)
    plain = (bare if _WORD.search(bare) else plain).strip().lstrip("'")
    return " ".join(_telling(_words(_unaccented(_AUTHOR.sub(" ", plain).casefold()))))


def is_not_a_tree(text: str) -> NotATree | None:
    """Tell whether a species cell says that no tree stands there: "vacant", "stump" or None.

    Understands English, French, Dutch, German and Spanish. "Unknown", "Other tree" and "Tree(s)" are trees
    whose species nobody wrote down, so they give None: a tree taken for a vacant site is never inspected.
    """
    said = " ".join(_WORD.findall(_unaccented(text).casefold()))
    if _STUMP.search(said):
        return "stump"
    return "vacant" if _VACANT.search(said) else None


class Catalogue:
    """All names of the known taxa, ready to be looked up by the text of a foreign file."""

    def __init__(self, names: Iterable[tuple[str, str, str, str]]) -> None:
        """Index rows of (accepted botanical name, name, kind, language).

        Kind is "synonym" or "common"; any other kind, and every botanical name itself, counts as accepted.
        Where a common name means two taxa of one genus the genus is kept, otherwise the name is dropped;
        Latin goes before common speech.
        """
        rows = [(botanical, name, kind) for botanical, name, kind, _language in names]
        accepted = {fold(botanical): botanical for botanical, _name, _kind in rows}
        self._genera = {key: name for key, name in accepted.items() if " " not in key}
        self._latin: dict[str, tuple[str, How]] = {
            key: (name, "genus" if key in self._genera else "exact") for key, name in accepted.items()
        }
        for botanical, name, kind in rows:
            if kind == "synonym":
                self._add_synonym(fold(name), botanical)
        self._speller = Speller(self._latin)
        self._common = self._unambiguous((fold(name), botanical) for botanical, name, kind in rows if kind == "common")
        self._closed_up = self._unambiguous((key.replace(" ", ""), name) for key, name in self._common.items())

    def match(self, text: str) -> Match:
        """Find the taxon a text names; never raises and never guesses.

        "Latin :: Common" is tried by its Latin part first; the common part only where the Latin part is
        empty or wholly unknown. Of a known genus with an unknown epithet the genus is returned. A known
        species with more behind it (variety, cultivar, author) is that species.
        """
        if is_not_a_tree(text):
            return Match(None, "none", text)
        latin, _separator, common = text.partition("::")
        found = (
            self._by_latin(latin)
            or self._by_common(latin)
            or self._by_spelling(latin)
            or self._by_genus(latin)
            or self._by_common(common)
            or self._by_latin(common)
        )
        return Match(found[0], found[1], text) if found else Match(None, "none", text)

    def match_many(self, texts: Iterable[str]) -> dict[str, Match]:
        """Match each distinct text once; one entry a text, in order of first appearance."""
        return {text: self.match(text) for text in dict.fromkeys(texts)}

    def _add_synonym(self, key: str, botanical: str) -> None:
        how: How = "genus" if fold(botanical) in self._genera else "synonym"
        self._latin.setdefault(key, (botanical, how))

    def _by_latin(self, text: str) -> tuple[str, How] | None:
        """Look up the whole name, else its longest known beginning of at least genus and epithet."""
        words = _without_glued_cross(fold(text).split())
        if found := self._latin.get(" ".join(words)):
            return found
        if _names_several(words, text):
            return None
        beginnings = (" ".join(words[:length]) for length in range(min(len(words) - 1, 5), 1, -1))
        return next((self._latin[key] for key in beginnings if key in self._latin), None)

    def _by_spelling(self, text: str) -> tuple[str, How] | None:
        """Look up genus and epithet with letters wrong; only names of two words that name one taxon."""
        words = _without_glued_cross(fold(text).split())
        if not 2 <= len(words) <= 3 or _names_several(words, text) or not _PARTICLES.isdisjoint(words):
            return None
        key = self._speller.correct(words[0], words[1]) if words[0].isalpha() and words[1].isalpha() else None
        found = self._latin.get(key) if key else None
        return (found[0], "corrected") if found and found[1] != "genus" else None

    def _by_genus(self, text: str) -> tuple[str, How] | None:
        """Look up the first word as a genus, unless the rest shows another genus or everyday speech."""
        words = fold(text).split()
        first = self._genus_of(words[0]) if words else None
        if first is None or not _PARTICLES.isdisjoint(words[1:]):
            return None
        # "Yucca plum pine" is no Yucca: English puts the kind of tree last.
        others = words[1:] if _names_several(words, text) else words[-1:]
        named = {self._genus_of(word) or self._genus_of_common(word) or first for word in others}
        return (first, "genus") if named == {first} or len(words) == 1 else None

    def _genus_of(self, word: str) -> str | None:
        found = self._latin.get(word)
        return found[0] if found and found[1] == "genus" else None

    def _genus_of_common(self, word: str) -> str | None:
        name = self._common.get(word)
        return self._genera.get(fold(name).partition(" ")[0]) if name else None

    def _by_common(self, text: str) -> tuple[str, How] | None:
        """Look up everyday names: as written, turned round at a comma, or alternatives that agree."""
        whole = self._everyday(text) or self._everyday(" ".join(reversed(text.split(","))))
        parts = (self._everyday(part) for part in _ALTERNATIVES.split(text))
        name = whole or self._agreed({part for part in parts if part})
        return (name, "common") if name else None

    def _everyday(self, text: str) -> str | None:
        """Look up one everyday name; "littleleaf" is "little-leaf", and the word "tree" may be missing."""
        key = " ".join(word for word in _words(fold(text)) if not word.startswith("'"))
        for form in (key, key.removesuffix(" tree")):
            if found := self._common.get(form) or self._closed_up.get(form.replace(" ", "")):
                return found
        return None

    def _unambiguous(self, pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
        """Keep the keys that mean one taxon, or taxa of one genus, which then stands for them."""
        meanings: dict[str, set[str]] = {}
        for key, botanical in pairs:
            meanings.setdefault(key, set()).add(botanical)
        agreed = {key: self._agreed(names) for key, names in meanings.items()}
        return {key: name for key, name in agreed.items() if name}

    def _agreed(self, names: set[str]) -> str | None:
        """Return the one name meant, the shared genus of several, or None."""
        if len(names) == 1:
            return next(iter(names))
        genera = {fold(name).partition(" ")[0] for name in names}
        return self._genera.get(genera.pop()) if len(genera) == 1 else None


def _unaccented(text: str) -> str:
    """Take accents off and bring quotes and crosses to one sign each; letters keep their case."""
    # The signs go first because U+00B4 comes apart into a space and an accent, and again for what came out.
    apart = unicodedata.normalize("NFKD", text.translate(_SIGNS))
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).translate(_SIGNS)


def _words(text: str) -> list[str]:
    """Split into words without punctuation; a cultivar is one word in quotes."""
    words: list[str] = []
    end = 0
    for cultivar in _CULTIVAR.finditer(text):
        words += _plain_words(text[end : cultivar.start()])
        inside = " ".join(_plain_words(cultivar[1]))
        words += [f"'{inside}'"] if inside else []
        end = cultivar.end()
    return words + _plain_words(text[end:])


def _plain_words(text: str) -> list[str]:
    return _WORD.findall(_POSSESSIVE.sub("s", text))


def _telling(words: list[str]) -> list[str]:
    """Keep the words that tell one taxon from another (see fold)."""
    kept: list[str] = []
    crossed = False
    for word in words:
        if word in _CROSS:
            crossed = len(kept) > 1
        elif not _is_filler(word, len(kept)):
            kept += ["x", word] if crossed else [word]
            crossed = False
    return kept


def _is_filler(word: str, place: int) -> bool:
    """Tell whether a word at that place (0 = first kept) says nothing about the taxon."""
    if word.startswith("'"):
        return place != 1
    return place > 0 and (word in _RANKS or word in _UNNAMED or (word in _HYBRID and place == 1))


def _without_glued_cross(words: list[str]) -> list[str]:
    """Read "platanus xhispanica" as "platanus hispanica"; no catalogued epithet begins with x."""
    if len(words) > 1 and words[1].startswith("x") and len(words[1]) > 3:
        return [words[0], words[1][1:], *words[2:]]
    return words


def _names_several(words: list[str], text: str) -> bool:
    return "/" in text or not _BETWEEN.isdisjoint(words)
