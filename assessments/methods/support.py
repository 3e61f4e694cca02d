"""Support of a union by a cable: where to attach it, its static tension, its weakest component, anchors in decay.

Sources: attachment height ANSI A300 / ISA BMP (from memory), working load = breaking strength / 5. No snatch.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from . import tables
from .problems import MethodProblem, number
from .request import Fields

METHOD: Final = "support_static_tension"
VERSION: Final = 1

ATTACHMENT_SHARE: Final = 2 / 3
DESIGN_FACTOR: Final = 5.0
KN_PER_LB: Final = 0.45359237 * 9.80665 / 1000
# Anchors: sound wood below this share of the limb's diameter rules one out (from memory, medium confidence).
LEAST_SOUND_SHARE: Final = 0.30
# A cable far from the leader's perpendicular mostly presses it down: the rule is not used beyond (project's choice).
STEEPEST_DEG: Final = 60.0
MOST_ITEMS: Final = 50
ANCHORS: Final = ("through", "lag")
FIELDS: Final = (
    "union_height_m", "crown_top_m", "attachment_height_m", "leaders", "components", "anchors", "table",
)  # fmt: skip
STRANDS: Final = {row["strand"]: row for row in tables.read("strand_strength")}
NOTES: Final = (
    "Advice to a qualified person: the standard in force, local codes and licensed practice come first.",
    "Static tension with the union taken as carrying nothing; snatch and sway, which can be several times larger, are "
    "not covered.",
    "No published table of cable size by limb could be established: none is built in; load that of the standard held.",
    "Attachment at two thirds of the way from union to crown top: published rule, from memory of it.",
)


@dataclass(frozen=True)
class Leader:
    """A leader held by the cable: moment of wind and lean at the union in kN m, cable against its perpendicular."""

    moment_knm: float
    angle_deg: float = 0.0
    arm_m: float | None = None

    def tension_kn(self, arm_m: float) -> float:
        """Give the cable's tension in kN, moment / (arm x cos angle). Raises ValueError for an arm of 0 or less.

        >>> round(Leader(50.0, 20.0).tension_kn(10.0), 4)
        5.3209
        """
        if arm_m <= 0:
            raise ValueError("arm_m: must be positive")
        return self.moment_knm / (arm_m * math.cos(math.radians(self.angle_deg)))


@dataclass(frozen=True)
class Component:
    """A part that the tension passes through, with the load it may work at in kN."""

    name: str
    working_kn: float


@dataclass(frozen=True)
class Anchor:
    """An anchor in a limb: limb diameter and sound wood along the anchor in cm; `type` through or lag."""

    limb_diameter_cm: float
    sound_wood_cm: float
    type: str = "through"
    in_decay: bool = False

    def refused(self) -> str:
        """Say why the anchor may not be set there; empty where the rules have nothing against it."""
        if self.type == "lag" and self.in_decay:
            return "lag threads may not sit in decayed wood (from memory of practice guidance)"
        if self.sound_wood_cm < LEAST_SOUND_SHARE * self.limb_diameter_cm:
            return "sound wood is less than 30 % of the limb's diameter (from memory of practice guidance)"
        return ""


def attachment_height_m(union_height_m: float, crown_top_m: float) -> float:
    """Give the height of the cable: two thirds of the way from the union to the crown's top.

    >>> attachment_height_m(5.0, 20.0)
    15.0
    """
    return union_height_m + ATTACHMENT_SHARE * (crown_top_m - union_height_m)


def working_kn(breaking_kn: float) -> float:
    """Give the working load of a strand or fitting, a fifth of its breaking strength.

    >>> round(working_kn(6650 * KN_PER_LB) / KN_PER_LB, 6)
    1330.0
    """
    return breaking_kn / DESIGN_FACTOR


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a support from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> leaders = [{"moment_knm": 50}, {"moment_knm": 40, "angle_deg": 40}]
    >>> compute({"union_height_m": 5, "crown_top_m": 20, "leaders": leaders})["tension_kn"]
    5.221629
    """
    fields = Fields(request, "", FIELDS)
    union = fields.number("union_height_m", 0, 100)
    top = fields.number("crown_top_m", 0, 120)
    if top <= union:
        raise fields.wrong("crown_top_m", "must be more than union_height_m")
    rule = attachment_height_m(union, top)
    height = fields.maybe("attachment_height_m", 0, 120)
    height = rule if height is None else height
    if not union < height <= top:
        raise fields.wrong("attachment_height_m", "must lie between the union and the crown's top")
    # A support holds two leaders; a box or a ring of more is worked out cable by cable.
    leaders = fields.items("leaders", 2, _leader, least=1)
    tensions = [_tension(leader, place, height - union) for place, leader in enumerate(leaders)]
    components = fields.items("components", MOST_ITEMS, _component)
    anchors = fields.items("anchors", MOST_ITEMS, _anchor)
    out: dict[str, Any] = {
        "attachment_height_m": round(height, 3),
        "rule_height_m": round(rule, 3),
        "arm_m": round(height - union, 3),
        "leaders": [{"tension_kn": round(tension, 6)} for tension in tensions],
        "governing_leader": tensions.index(max(tensions)),
        "tension_kn": round(max(tensions), 6),
        **_against(max(tensions), components),
        "anchors": [{"allowed": not anchor.refused(), "reason": anchor.refused()} for anchor in anchors],
    }
    if fields.has("table"):
        out["table"] = _from_table(fields)
    return out | {"notes": _notes(height, rule, leaders, components), "method": METHOD, "version": VERSION}


def _tension(leader: Leader, place: int, arm_m: float) -> float:
    arm = arm_m if leader.arm_m is None else leader.arm_m
    if arm <= 0:
        raise MethodProblem(f"/leaders/{place}/arm_m", "must be more than 0")
    return leader.tension_kn(arm)


def _against(tension_kn: float, components: Sequence[Component]) -> dict[str, Any]:
    if not components:
        return {"weakest_component": None, "working_load_kn": None, "utilisation": None, "within_working_load": None}
    weakest = min(components, key=lambda component: component.working_kn)
    return {
        "weakest_component": weakest.name,
        "working_load_kn": round(weakest.working_kn, 4),
        "utilisation": round(tension_kn / weakest.working_kn, 4),
        "within_working_load": tension_kn <= weakest.working_kn,
    }


def _notes(height: float, rule: float, leaders: Sequence[Leader], components: Sequence[Component]) -> list[str]:
    notes = list(NOTES)
    if abs(height - rule) > 0.01:
        notes.append(f"The attachment given is not at the rule's height of {rule:.2f} m.")
    if len(leaders) == 1:
        notes.append("Only one leader is given: the larger of both governs, so give the other too.")
    if not components:
        notes.append("No component is given: the tension is compared with nothing.")
    elif len(components) < 3:
        notes.append("Give strand, termination and anchor: the weakest of them governs.")
    if any(component.name in STRANDS for component in components):
        notes.append("Strand strengths: ASTM A475, most of them from memory; the maker's certificate comes first.")
    return notes


def _leader(value: object, pointer: str) -> Leader:
    item = Fields(value, pointer, ("moment_knm", "angle_deg", "arm_m"))
    angle = item.maybe("angle_deg", 0, 90) or 0.0
    if angle > STEEPEST_DEG:
        raise item.wrong("angle_deg", f"is beyond {STEEPEST_DEG:g}: the rule does not apply to so steep a cable")
    return Leader(item.number("moment_knm", 0, 1e5), angle, item.maybe("arm_m", 0, 100, above=True))


def _component(value: object, pointer: str) -> Component:
    item = Fields(value, pointer, ("name", "strand", "breaking_kn", "working_kn"))
    given = [name for name in ("strand", "breaking_kn", "working_kn") if item.has(name)]
    if len(given) != 1:
        raise item.wrong(given[1] if given else "working_kn", "give one of strand, breaking_kn and working_kn")
    if item.has("strand"):
        name = item.choice("strand", STRANDS, "")
        return Component(name, working_kn(float(STRANDS[name]["breaking_lb"]) * KN_PER_LB))
    if item.has("breaking_kn"):
        return Component(item.text("name"), working_kn(item.number("breaking_kn", 0, 1e4, above=True)))
    return Component(item.text("name"), item.number("working_kn", 0, 1e4, above=True))


def _anchor(value: object, pointer: str) -> Anchor:
    item = Fields(value, pointer, ("limb_diameter_cm", "sound_wood_cm", "type", "in_decay"))
    diameter = item.number("limb_diameter_cm", 0, 500, above=True)
    sound = item.number("sound_wood_cm", 0, 500)
    if sound > diameter:
        raise item.wrong("sound_wood_cm", "is more than the limb is thick")
    return Anchor(diameter, sound, item.choice("type", ANCHORS, "through"), item.flag("in_decay"))


def _from_table(fields: Fields) -> dict[str, Any]:
    """Look a limb up in the table of a standard that the municipality holds and has loaded itself."""
    table = fields.inner("table", ("standard", "limb_diameter_cm", "rows"))
    standard, limb = table.text("standard"), table.number("limb_diameter_cm", 0, 500, above=True)
    rows = table.items("rows", MOST_ITEMS, _table_row, least=1)
    fitting = sorted(row for row in rows if row[0] >= limb)
    if not fitting:
        return {"standard": standard, "applies": False, "note": f"The table ends below a limb of {limb:g} cm."}
    return {"standard": standard, "applies": True, "limb_to_cm": fitting[0][0], "size": fitting[0][1]}


def _table_row(value: object, pointer: str) -> tuple[float, str]:
    item = Fields(value, pointer, ("limb_to_cm", "size"))
    return number(item.needed("limb_to_cm"), item.at("limb_to_cm"), 0, 500, above=True), item.text("size")
