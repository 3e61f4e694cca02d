"""What a heading says: how well its words name a role, be they cut off, run together, misspelt or in any order."""

import re
import unicodedata
from functools import cache, lru_cache

from inventory.intake.roles import ROLES

# Shapefiles cut field names off after so many letters.
CUT_OFF = 10
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
# Signs that stand for words, and letters that do not come apart into a letter and an accent.
_SIGNS = {"Ø": " diameter ", "ø": " diameter ", "⌀": " diameter ", "∅": " diameter ", "#": " no ", "°": "o ", "º": "o ",
          "№": " no ", "œ": "oe", "Œ": "Oe", "æ": "ae", "Æ": "Ae", "ł": "l"}  # fmt: skip
_UNITS = {
    "cm": "cm", "mm": "mm", "m": "m", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft",
    "foot": "ft", "metres": "m", "meters": "m", "metre": "m", "zoll": "in", "pouces": "in", "duim": "in",
    "pulgadas": "in", "pollici": "in", "pieds": "ft", "fuss": "ft", "voet": "ft", "pies": "ft", "piedi": "ft",
    "meter": "m", "metros": "m", "metri": "m", "centimetres": "cm", "centimeters": "cm", "zentimeter": "cm",
    "cms": "cm", "mtr": "m", "mts": "m", "ins": "in", "centimetri": "cm", "centimetros": "cm", "centimeter": "cm",
}  # fmt: skip
# Words that join others, and words for the tree itself: in a file of trees they tell nothing of their own.
_JOINING = frozenset({
    "de", "du", "des", "d", "l", "la", "le", "les", "der", "die", "das", "den", "dem", "del", "della", "dello", "di",
    "da", "van", "het", "of", "the", "a", "al", "au", "aux", "el", "los", "las", "en", "et", "und", "on",
    "im", "am", "at", "to", "zum", "zur", "in", "by",
})  # fmt: skip
_TREE = frozenset({
    "tree", "trees", "baum", "baume", "baumes", "boom", "bomen", "arbre", "arbres", "arbol", "arboles", "albero",
    "alberi", "pianta", "planta",
})  # fmt: skip
_TREE_PARTS = frozenset({"stamm", "stam", "kronen"})
# What is written short in tables of every kind, by the words it stands for.
_SHORT: dict[str, tuple[str, ...]] = {
    "nr": ("number", "nummer", "numero", "no"), "no": ("number", "nummer", "numero"), "num": ("number", "numero"),
    "nb": ("number", "numero"), "n": ("number", "numero", "nummer"), "nm": ("name", "naam", "nom"),
    "dt": ("date", "datum", "data", "deutsch"), "yr": ("year",), "jr": ("jaar", "jahr"), "dia": ("diameter",),
    "ht": ("height", "hauteur"), "hgt": ("height",), "hs": ("haus", "house", "huis"), "st": ("street", "stamm", "stam"),
    "str": ("strasse", "street", "straat"), "an": ("annee", "ano", "anno"), "dm": ("durchmesser", "diameter"),
    "durchm": ("durchmesser",), "bot": ("botanischer", "botanical"), "dat": ("datum", "date"), "insp": ("inspection",
    "inspected"), "adr": ("adresse", "address"), "add": ("address",), "spp": ("species",), "sp": ("species",),
    "dir": ("direccion", "direction"), "rd": ("road",), "circ": ("circonference", "circumference", "circonferenza"),
    "lib": ("libelle",), "cod": ("codice", "codigo", "code"), "f": ("fecha",),
}  # fmt: skip
LEAST = 0.6
_LETTERED = ("northing", "easting")


def heading_words(heading: str) -> str:
    """A heading as plain lower-case words.

    >>> heading_words("CIRCONFERENCE (cm)"), heading_words("siteOrder_2")
    ('circonference cm', 'site order 2')
    """
    parted = _CAMEL.sub(" ", "".join(_SIGNS.get(sign, sign) for sign in heading))
    plain = unicodedata.normalize("NFKD", parted)
    letters = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
    return " ".join(re.findall(r"[a-z0-9]+", letters))


@lru_cache(maxsize=200_000)
def named(role: str, heading: str) -> float:
    """How well a heading names a role: 1 in exactly its words, less for more words around them, 0 not at all."""
    words = heading_words(heading[:200]).split()
    # "height m" names a height in full; "located in" is no unit.
    telling = [word for word in words if word not in _UNITS] or words
    if _denied(role, words):
        return 0.0
    plain = max(_phrase(role, words), _phrase(role, telling))
    # One letter tells north from east: those headings are read to the letter.
    return plain if plain >= 0.9 or role in _LETTERED else max(plain, _loosely(role, tuple(telling)))


def _denied(role: str, words: list[str]) -> bool:
    """Whether the heading has a word under which the role is another thing: the height of the crown's base."""
    denied, whole = ROLES[role].unless, "".join(words)
    return not set(words).isdisjoint(denied) or any(len(word) >= 5 and word in whole for word in denied)


def _phrase(role: str, words: list[str]) -> float:
    return max((_likeness(phrase, words) for phrase in ROLES[role].words), default=0.0)


def _likeness(phrase: str, words: list[str]) -> float:
    """1 for exactly this phrase, less within more words, for its beginning (headings are cut off) or in a compound."""
    size, whole = len(phrase.split()), "".join(words)
    if any(" ".join(words[at : at + size]) == phrase for at in range(len(words) - size + 1)):
        return 0.4 + 0.6 * size / len(words)
    closed = phrase.replace(" ", "")
    if whole == closed or (len(whole) >= CUT_OFF - 2 and closed.startswith(whole)):
        return 0.9
    last = words[-1] if words else ""
    # "Exact_Heig": field names of ten letters end in the middle of a word.
    if CUT_OFF - 1 <= len(whole) <= CUT_OFF and len(last) >= 4 and size == 1 and phrase.startswith(last):
        return 0.4 + 0.6 / len(words)
    if size == 1 and (len(phrase) >= 5 or phrase in ("dbh", "bhd")) and any(_compound(word, phrase) for word in words):
        return 0.6
    return 0.0


def _compound(word: str, phrase: str) -> bool:
    return word.endswith(phrase) and len(word) > len(phrase)


def _loosely(role: str, words: tuple[str, ...]) -> float:
    """How well words that are cut off, misspelt, run together or turned round name a role; at most 0.85."""
    parts = tuple(part for word in words for part in _parts(word))
    found = 0.0
    for given in dict.fromkeys((words, parts)):
        kept = [w for w in given if w not in _JOINING and not w.isdigit()] or list(given)
        bare = [w for w in kept if w not in _TREE] or kept
        for phrase in _telling(role):
            found = max(found, _spoken(phrase, kept), _spoken(phrase, bare))
    return min(0.85, found)


def _spoken(phrase: tuple[str, ...], words: list[str]) -> float:
    """The likeness of a phrase whose every word is among these, each word used once."""
    if len(phrase) > len(words):
        return 0.0
    left, likeness = list(words), 1.0
    for token in phrase:
        best = max(left, key=lambda word: _alike(word).get(token, 0.0))
        likeness = min(likeness, _alike(best).get(token, 0.0))
        if likeness < LEAST:
            return 0.0
        left.remove(best)
    return likeness * (0.5 + 0.5 * len(phrase) / len(words))


@cache
def _telling(role: str) -> tuple[tuple[str, ...], ...]:
    """The phrases of a role without joining words, and without the word tree where others are left."""
    found = []
    for phrase in ROLES[role].words:
        kept = tuple(word for word in phrase.split() if word not in _JOINING) or tuple(phrase.split())
        # In "point x" the letter carries the meaning: such phrases are known in full only.
        if all(len(word) > 1 for word in kept):
            found.append(kept)
    return tuple(dict.fromkeys(found))


@cache
def _vocabulary() -> tuple[str, ...]:
    every = (word for role in ROLES for phrase in _telling(role) for word in phrase)
    return tuple(dict.fromkeys(every))


@lru_cache(maxsize=20_000)
def _parts(word: str) -> tuple[str, ...]:
    """A word run together from known words, taken apart: the longest known beginnings, what is left over last."""
    known = set(_vocabulary()) | _TREE | _JOINING | _TREE_PARTS
    found: list[str] = []
    if word in known or len(word) < 6:
        return (word,)
    while len(word) > 2:
        end = next((end for end in range(len(word), 2, -1) if word[:end] in known), 0)
        if not end or (not found and end < 4):
            break
        found.append(word[:end])
        word = word[end:]
    return tuple([*found, word] if word else found)


@lru_cache(maxsize=20_000)
def _alike(word: str) -> dict[str, float]:
    """The words of the vocabulary that a word may be, with the likeness."""
    found = {token: likeness for token in _vocabulary() if (likeness := _likeness_of(word, token)) >= LEAST}
    found.update({full: max(0.8, found.get(full, 0.0)) for full in _SHORT.get(word, ())})
    return found


def _likeness_of(word: str, token: str) -> float:
    """1 for the same word, less for its beginning, for one with a slip, for its consonants alone; else 0."""
    if word == token:
        return 1.0
    if word[:1] != token[:1] or len(word) < 3:
        return 0.0
    if token.startswith(word):
        return 0.85 if len(word) >= 4 else 0.7
    short = min(len(word), len(token))
    if short >= 5 and abs(len(word) - len(token)) <= 2:
        slips = _slips(word, token)
        if slips == 1 or (slips == 2 and short >= 8):
            return 0.85 if slips == 1 else 0.7
    if len(token) >= 5 and word.startswith(token):
        return 0.7
    return 0.65 if _consonants(word, token) else 0.0


def _consonants(word: str, token: str) -> bool:
    """Whether a word is another with its vowels left out: "hght", "trnk"."""
    if any(sign in "aeiou" for sign in word[1:]) or len(token) < 4:
        return False
    left = iter(token)
    whole = sum(sign not in "aeiou" for sign in token)
    return all(sign in left for sign in word) and 2 * len(word) >= whole


def _slips(one: str, other: str) -> int:
    """Letters to add, drop, change or swap between two words (optimal string alignment)."""
    before, row = list(range(len(other) + 1)), list(range(len(other) + 1))
    last: list[int] = []
    for at, sign in enumerate(one, 1):
        last, before, row = before, row, [at]
        for to, mark in enumerate(other, 1):
            cost = min(before[to] + 1, row[to - 1] + 1, before[to - 1] + (sign != mark))
            if at > 1 and to > 1 and sign == other[to - 2] and one[at - 2] == mark:
                cost = min(cost, last[to - 2] + 1)
            row.append(cost)
    return row[-1]


def unit_in(heading: str) -> str:
    """The unit that a heading names, or empty.

    >>> unit_in("HAUTEUR (m)"), unit_in("dbh")
    ('m', '')
    """
    words = heading_words(heading).split()
    found = [_UNITS[word] for word in words[1:] if word in _UNITS]
    return found[-1] if found else ""
