"""Words of cities' files for the state of a tree and for its growing space, in six languages."""

import re

from inventory.intake.headings import heading_words

# Cells that say that nothing is known.
NOTHING = frozenset({"", "-", "--", "---", "null", "none", "n/a", "na", "nan", "unknown", "nil", "?", "<null>",
                     "onbekend", "unbekannt", "inconnu", "desconocido", "sconosciuto", "non renseigne",
                     "non renseigné"})  # fmt: skip

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


# The grades of condition that cities write, to ours.
_GRADES = {
    "good": "good excellent very healthy vigorous gut sehr bon bonne buono buona bueno buena goed vital vitaal sain"
    " sano",
    "fair": "fair average moderate satisfactory mittel befriedigend moyen passable regular medio discreto redelijk"
    " matig",
    "poor": "poor bad declining schlecht mauvais malo cattivo slecht stressed unhealthy kummerlich deperissant",
    "critical": "critical dying hazardous absterbend mourant kritiek grave kritisch",
    "dead": "dead tot mort morte dood muerto muerta morto morta abgestorben",
    "stump": "stump stumpf stubben souche stobbe tocon ceppaia",
}
GRADES = tuple(_GRADES)
_GRADE_OF = {word: grade for grade, words in _GRADES.items() for word in words.split()}
_WORKS = {
    "prune": "trim prune pruning trimming elagage elaguer taille schnitt schneiden kronenpflege snoei snoeien poda"
    " podar potatura potare raise thin clean formative rejuvenation",
    "remove": "remove removal fell felling abattage abattre fallen fallung kappen vellen tala talar abbattimento",
    "plant": "plant planting replant plantation nachpflanzung planten plantar piantare",
    "inspect": "inspect inspection monitor assess controle kontrolle kontrollieren inspectie inspeccion ispezione",
    "grind the stump": "grind grinding essouchage frasen frezen destoconado",
    "support": "cable brace support haubanage kronensicherung verankering",
}
WORKS = tuple(_WORKS)
_WORK_OF = {word: work for work, words in _WORKS.items() for word in words.split()}


def grade_of(cell: str) -> str:
    """Our grade of condition that a cell names, the worst of several, or empty: "Very Good" is good."""
    found = [_GRADE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _GRADE_OF]
    return max(found, key=GRADES.index) if found else ""


def work_of(cell: str) -> str:
    """Our verb for the work that a cell names first, or empty: "Grid/Routine Trim" is prune."""
    return next((_WORK_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _WORK_OF), "")
