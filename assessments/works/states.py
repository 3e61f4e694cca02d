"""States of orders and items as data: the words, and which step leads from where to where."""

from typing import Final

ORDER_STATES: Final = ("draft", "issued", "accepted", "closed", "cancelled")
ITEM_STATES: Final = ("open", "done", "not_possible", "verified", "returned", "variation", "cancelled")
OUTCOMES: Final = ("done", "not_possible")

ACTIONS: Final[dict[str, str]] = {
    "remove": "Fell and remove",
    "grind_stump": "Grind the stump",
    "remove_dead_wood": "Remove dead wood",
    "remove_part": "Remove the defective part",
    "reduce_crown": "Reduce the crown",
    "raise_crown": "Raise the crown",
    "clean_crown": "Clean the crown",
    "young_tree_pruning": "Formative pruning",
    "install_support": "Install a support",
    "diagnose": "Advanced diagnosis",
    "restrict_target": "Close or move the target",
    "make_safe": "Make safe at once",
    "plant": "Plant a replacement",
    "water": "Water and check the stake",
}

# step: (from these states, to this one)
ORDER_STEPS: Final[dict[str, tuple[frozenset[str], str]]] = {
    "issue": (frozenset({"draft"}), "issued"),
    "accept": (frozenset({"issued"}), "accepted"),
    "close": (frozenset({"issued", "accepted"}), "closed"),
    "cancel": (frozenset({"draft", "issued", "accepted"}), "cancelled"),
}
# The contractor sees an order once it is issued.
VISIBLE_TO_CONTRACTOR: Final = ("issued", "accepted", "closed", "cancelled")
REPORTABLE: Final = ("issued", "accepted", "closed")
