"""Tells from the words of a species cell that no tree stands there, in six languages."""

import re
from typing import Literal

from inventory.intake.folding import plain_words, unaccented

NotATree = Literal["vacant", "stump"]

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


def is_not_a_tree(text: str) -> NotATree | None:
    """Tell whether a species cell says that no tree stands there: "vacant", "stump" or None.

    Understands English, French, Dutch, German and Spanish. "Unknown", "Other tree" and "Tree(s)" are trees
    whose species nobody wrote down, so they give None: a tree taken for a vacant site is never inspected.
    """
    said = " ".join(plain_words(unaccented(text).casefold()))
    if _STUMP.search(said):
        return "stump"
    return "vacant" if _VACANT.search(said) else None
