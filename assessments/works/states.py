"""States of orders and items, verdicts and actions as data: the words, and which step leads from where to where."""

from typing import Final

ORDER_STATES: Final = ("draft", "issued", "accepted", "closed", "cancelled")
ITEM_STATES: Final = (
    "open",
    "done",  # reported done, not looked at yet
    "not_possible",  # reported as not possible, not decided yet
    "variation",  # the facts contradict each other or the order: a person decides
    "returned",  # looked at and sent back: open again for the contractor
    "verified",  # looked at and accepted
    "not_done",  # a person agreed that it stays undone
    "cancelled",
)
# Nothing more is expected of such an item.
SETTLED: Final = frozenset({"verified", "not_done", "cancelled"})
# Reported, and waiting for a person of the municipality.
TO_VERIFY: Final = frozenset({"done", "not_possible", "variation"})

OUTCOMES: Final = ("done", "not_possible")
VERDICTS: Final = ("accepted", "returned", "not_done")

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

_STANDING: Final = frozenset({"alive", "dead"})
# The tree states on which an action makes sense; a standing tree where none is named.
ON_OTHER_TREES: Final[dict[str, frozenset[str]]] = {
    "grind_stump": frozenset({"stump"}),
    "plant": frozenset({"stump", "removed"}),
    "water": frozenset({"alive"}),
    "young_tree_pruning": frozenset({"alive"}),
}
DIGGING: Final = frozenset({"grind_stump", "plant"})

# Checks that reported work asks for: kind and days after the work. The days are the project's choice
# (no published service time is known); a support is looked at every year (common practice, no source).
CHECKS_AFTER: Final[dict[str, tuple[tuple[str, int], ...]]] = {
    "remove_dead_wood": (("after_work", 30),),
    "remove_part": (("after_work", 30),),
    "reduce_crown": (("after_work", 30),),
    "install_support": (("after_work", 30), ("support", 365)),
    "diagnose": (("advanced_diagnosis", 14),),
    "restrict_target": (("after_work", 30),),
    "make_safe": (("after_work", 7),),
}
# Other work is checked only where it was ordered because of a finding.
CHECKS_FOR_A_FINDING: Final = (("after_work", 30),)
_NEVER_CHECKED: Final = frozenset({"remove", "grind_stump", "plant"})
# Returned work is looked at again within this time: project's choice.
RETURNED_CHECK_DAYS: Final = 7

# step: (from these states, to this one)
ORDER_STEPS: Final[dict[str, tuple[frozenset[str], str]]] = {
    "issue": (frozenset({"draft"}), "issued"),
    "accept": (frozenset({"issued"}), "accepted"),
    "cancel": (frozenset({"draft", "issued", "accepted"}), "cancelled"),
    # By rule, as the items become settled, or cease to be.
    "close": (frozenset({"issued", "accepted"}), "closed"),
    "reopen": (frozenset({"closed"}), "accepted"),
}
# The contractor sees an order from the moment it is issued; a draft that was cancelled it never sees.
SEEN_BY_CONTRACTOR: Final = ("issued", "accepted", "closed", "cancelled")

# Said once on each order, where it is read.
CAUTION: Final = (
    "The cautions come from what was recorded of each tree and may be incomplete. Look at the tree before work; "
    "local codes, electrical, climbing and felling rules and licensed practice come first."
)


def tree_states(action: str) -> frozenset[str]:
    """The tree states on which an action may be ordered."""
    return ON_OTHER_TREES.get(action, _STANDING)


def checks_after(action: str, for_a_finding: bool) -> tuple[tuple[str, int], ...]:
    """The checks (kind, days after the work) that an action asks for once it was reported done."""
    if for_a_finding and action not in _NEVER_CHECKED:
        return CHECKS_AFTER.get(action, CHECKS_FOR_A_FINDING)
    return CHECKS_AFTER.get(action, ())
