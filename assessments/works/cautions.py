"""What a crew must know before it starts, from what was recorded of the tree and its site.

The pairings of finding and caution are common practice in arboricultural safety guidance, without a single source.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from assessments.works import states


@dataclass(frozen=True)
class Seen:
    """What a caution needs of a finding."""

    kind: str
    part: str
    measures: Mapping[str, Any]


HANGING: Final = "Broken or hanging branch: keep everyone from under it until it is down."
PARTED: Final = "Split or cracked part: it may open or let go when load is put on it or taken off."
ANCHOR: Final = "Decay or a cavity in stem or crown: do not anchor a climber or a rigging line there untested."
ROOTS: Final = "Roots or root plate may not hold: no climbing, and no rigging that pulls on the stem."
DEAD: Final = "Dead wood: it breaks without warning under load and vibration."
TENSION: Final = "Storm damage: wood may be under tension, and loose parts may hang higher up."
INSECTS: Final = "Borer or termite sign: wood is weaker than it looks; heed rules on moving it."
DEAD_TREE: Final = "Dead tree: brittle wood, uncertain anchor points and roots."
HIGH_VOLTAGE: Final = (
    "High-voltage line overhead: only crews qualified for line clearance, after agreement with the network operator."
)
LOW_VOLTAGE: Final = "Low-voltage line overhead: keep the legal distance or have it switched off; treat it as live."
COMMUNICATION: Final = "Communication line overhead: do not drop or drag wood on it; it may share poles with power."
LINES_UNKNOWN: Final = "Overhead lines are not recorded here: look for them before work."
BURIED: Final = "Have buried services located and marked before digging or grinding."

_LINES: Final = {
    "high_voltage": HIGH_VOLTAGE,
    "low_voltage": LOW_VOLTAGE,
    "communication": COMMUNICATION,
    "unknown": LINES_UNKNOWN,
}
_ABOVE: Final = frozenset({"stem", "union", "limb", "branch", "top", "crown"})
_BELOW: Final = frozenset({"root", "root_collar"})
_ROTTEN: Final = frozenset({"decay", "cavity", "fruiting_body"})
_BY_KIND: Final = {
    "crack": PARTED,
    "previous_split": PARTED,
    "root_plate_lift": ROOTS,
    "root_loss": ROOTS,
    "dead_wood": DEAD,
    "storm_damage": TENSION,
    "insect_sign": INSECTS,
}


def cautions(findings: Iterable[Seen], tree_state: str, overhead_lines: str | None, action: str) -> list[str]:
    """The cautions of one item, each once: people first, then electricity, then what lies in the ground.

    `overhead_lines` as recorded of the site; None without a site.
    """
    found = [text for seen in findings for text in _of_finding(seen)]
    if tree_state == "dead":
        found.append(DEAD_TREE)
    if action not in states.DIGGING:
        found.append(_LINES.get(overhead_lines or "unknown", ""))
    else:
        found.append(BURIED)
    return [text for text in dict.fromkeys(found) if text]


def _of_finding(seen: Seen) -> list[str]:
    told = [_BY_KIND[seen.kind]] if seen.kind in _BY_KIND else []
    if seen.kind == "broken_branch" and seen.measures.get("state") != "stub":
        told.append(HANGING)
    if seen.kind in ("codominant_stems", "included_bark_union", "seam") and _parted(seen.measures):
        told.append(PARTED)
    if seen.kind in _ROTTEN:
        told += [ANCHOR] * (seen.part in _ABOVE) + [ROOTS] * (seen.part in _BELOW)
    if seen.kind == "lean" and _unsteady(seen.measures):
        told.append(ROOTS)
    return told


def _parted(measures: Mapping[str, Any]) -> bool:
    return bool(measures.get("parted") or measures.get("type") == "open")


def _unsteady(measures: Mapping[str, Any]) -> bool:
    return bool(measures.get("fresh_signs") or measures.get("root_breakage") or measures.get("type") == "recent")
