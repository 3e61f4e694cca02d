"""Words of cities' files for the state of a tree and for its growing space, in six languages."""

import re

from inventory.intake.roles import heading_words

STATES = ("alive", "dead", "stump", "vacant", "removed")
_STATE_WORDS = {
    "alive": "alive living live good fair poor excellent planted vivant lebend levend vivo viva",
    "dead": "dead mort tot dood muerto muerta morto morta seco",
    "stump": "stump souche stumpf stubben stronk stobbe tocon ceppaia",
    "vacant": "vacant empty leer leeg vide vacia vacio vuoto",
    "removed": "removed felled abattu gefallt gekapt talado abbattuto",
}
_STATE_OF = {word: state for state, words in _STATE_WORDS.items() for word in words.split()}

_SPACE_WORDS = {
    "cutout": "cutout cut pit well grate fosse baumscheibe alcorque boomspiegel",
    "strip": "strip median verge parkway alignement grunstreifen berm bermen",
    "lawn": "lawn yard grass pelouse rasen gazon cesped",
    "planter": "planter pot container bac kubel bloembak maceta",
    "park": "park garden cemetery jardin cimetiere friedhof begraafplaats jardín parque",
    "natural": "natural woodland wood forest bois wald bos",
}
_SPACE_OF = {word: space for space, words in _SPACE_WORDS.items() for word in words.split()}
# One heading gathers cities' words for the place of a tree; the last word is the most particular one.
_WORD = re.compile(r"[a-z]+")


def state_of(cell: str) -> str:
    """The state that a cell names, or empty: "Standing dead" is dead, "Good" is alive."""
    found = [_STATE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _STATE_OF]
    return max(found, key=STATES.index) if found else ""


def space_of(cell: str) -> str:
    """The growing space that a cell names, or "unknown": in "Median : Cutout" the last one counts."""
    found = [_SPACE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _SPACE_OF]
    return found[-1] if found else "unknown"
