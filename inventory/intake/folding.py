"""The forms in which species texts are compared: what tells one taxon from another, and what a person settles.

Pure text work. Both forms are folded to themselves.
"""

import hashlib
import re
import unicodedata

# Every sign a city has used around a cultivar or as an apostrophe, the signs of a hybrid, and the letters
# that do not come apart into a letter and an accent.
_SIGNS = str.maketrans(
    dict.fromkeys('`´‘’‚‛“”„"′″ʻʼ«»‹›', "'")
    | dict.fromkeys("×✕✖⨯⨉", " x ")
    | {"œ": "oe", "Œ": "OE", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L"}
)
_CULTIVAR = re.compile(r"(?<=\s)'+(?=\S)(.*?)(?:'+(?!\w)|\Z)", re.DOTALL)
_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_AUTHOR = re.compile(r"(?<=[a-z])\s+[A-Z][\w.-]*\.(?:\s+(?:ex|et|&|f\.)|\s+[A-Z][\w.-]*\.)*(?=\s|\Z)")
_POSSESSIVE = re.compile(r"(?<=\w)'+s\b")
_WORD = re.compile(r"[^\W_]+")
# What UTF-8 looks like where it was read as Windows-1252.
_MISREAD = re.compile(r"[ÃÂ][\x80-\xbf€‚ƒ„…†‡ˆ‰Š‹Œ‘’“”•–—˜™š›œžŸ]")

_RANKS = frozenset(
    {"subsp", "ssp", "subspecies", "var", "subvar", "nothovar", "nothosubsp", "convar", "forma", "fo", "f"}
)
_UNNAMED = frozenset({"sp", "spp", "sps", "spec", "species", "cv", "cvs", "indet"})
_HYBRID = frozenset({"hybrid", "hybrids"})
# The letter, doubled, the Cyrillic one, and the nought that a cross became.
_CROSS = frozenset({"x", "xx", "х", "0"})
# Longer keys are cut off and end in a digest: a unique index takes no text of any length.
_LONGEST, _KEPT = 600, 559


def fold(text: str) -> str:
    """Return the text in the one form in which names are compared; folding twice changes nothing.

    Case, accents, brackets, authors, rank words, "sp.", the sign of a hybrid and the cultivar are taken
    away. Two things stay because they carry the meaning: the cultivar of a plant that has no epithet
    (``arbutus 'marina'``) and the cross between two epithets (``abies koreana x lasiocarpa``).

    >>> fold("PLATANUS x Acerifolia (Aiton) Willd. 'Bloodgood'")
    'platanus acerifolia'
    """
    plain = unaccented(text)
    bare = _BRACKETS.sub(" ", plain)
    plain = (bare if _WORD.search(bare) else plain).strip().lstrip("'")
    return " ".join(_telling(words_of(unaccented(_AUTHOR.sub(" ", plain).casefold()))))


def settled_key(text: str) -> str:
    """Return the text in the form in which a person settles it: all its words, without case, accents and signs.

    Gentler than `fold`: "Prunus (fruit)" and "Prunus (ornamental)" are two questions. Empty for a text of nothing.

    >>> settled_key("  NORWAY   Maple, 'Crimson' ")
    'norway maple crimson'
    """
    words = plain_words(unaccented(unaccented(text).casefold()))
    key = " ".join(words) or " ".join(text.split()).casefold()
    if len(key) <= _LONGEST:
        return key
    digest = hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()[: _LONGEST - _KEPT - 1]
    return f"{key[:_KEPT].rstrip()} {digest}"


def unaccented(text: str) -> str:
    """Take accents off and bring quotes and crosses to one sign each; letters keep their case."""
    if _MISREAD.search(text):
        text = _read_again(text)
    # The signs go first because U+00B4 comes apart into a space and an accent, and again for what came out.
    apart = unicodedata.normalize("NFKD", text.translate(_SIGNS))
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).translate(_SIGNS)


def _read_again(text: str) -> str:
    """UTF-8 that was read as Windows-1252 (or as Latin 1), read right; other text as it is."""
    for wrong in ("cp1252", "latin-1"):
        try:
            return text.encode(wrong).decode("utf-8")
        except UnicodeError:
            continue
    return text


def words_of(text: str) -> list[str]:
    """Split into words without punctuation; a cultivar is one word in quotes."""
    words: list[str] = []
    end = 0
    for cultivar in _CULTIVAR.finditer(text):
        words += plain_words(text[end : cultivar.start()])
        inside = " ".join(plain_words(cultivar[1]))
        words += [f"'{inside}'"] if inside else []
        end = cultivar.end()
    return words + plain_words(text[end:])


def plain_words(text: str) -> list[str]:
    """The words of a text; "Bailey's" is one."""
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


def without_glued_cross(words: list[str]) -> list[str]:
    """Read "platanus xhispanica" as "platanus hispanica"; no catalogued epithet begins with x."""
    if len(words) > 1 and words[1].startswith("x") and len(words[1]) > 3:
        return [words[0], words[1][1:], *words[2:]]
    return words
