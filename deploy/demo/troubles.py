"""What is wrong with the invented trees: weaknesses with their measures, each growing from year to year."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from random import Random
from typing import Final

from assessments.methods.catalogue import Value
from assessments.records import FindingRecord
from deploy.demo.dice import dice, pick
from deploy.demo.growth import Body
from deploy.demo.stock import TreePlan

# Genera that the decay of a genus of tree is known for (common knowledge of the trade, from memory).
_FUNGI: Final[Mapping[str, str]] = {
    "Fagus": "Meripilus", "Quercus": "Fistulina", "Tilia": "Kretzschmaria", "Acer": "Ganoderma", "Fraxinus": "Inonotus",
    "Platanus": "Inonotus", "Populus": "Ganoderma", "Salix": "Laetiporus", "Robinia": "Perenniporia",
    "Prunus": "Phellinus", "Betula": "Fomitopsis", "Aesculus": "Pleurotus", "Pinus": "Phaeolus",
}  # fmt: skip


def fungus_of(genus: str) -> str:
    """The genus of fungus that a genus of tree is known for here; empty where none is."""
    return _FUNGI.get(genus, "")


@dataclass(frozen=True)
class Trouble:
    """One weakness. `grows`: measure -> (more a year, at most); years count from the take-over of the inventory.

    `began`: the year from which it can be seen; before that nobody recorded it.
    """

    kind: str
    part: str
    part_diameter_cm: float | None = None
    height_m: float | None = None
    azimuth_deg: float | None = None
    measures: Mapping[str, Value] = field(default_factory=dict)
    grows: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    fungus_genus: str = ""
    fungus_confidence: str = ""
    began: float = 0.0
    note: str = ""

    def seen(self, years: float) -> FindingRecord:
        """Give the finding as it is seen some years after the take-over."""
        since = max(0.0, years - max(self.began, 0.0))
        measures = dict(self.measures)
        for name, (more, most) in self.grows.items():
            measures[name] = _read(name, min(most, float(measures[name]) + more * since))
        return FindingRecord(
            kind=self.kind,
            part=self.part,
            part_diameter_cm=self.part_diameter_cm,
            height_m=self.height_m,
            azimuth_deg=self.azimuth_deg,
            measures=measures,
            fungus_genus=self.fungus_genus,
            fungus_confidence=self.fungus_confidence,
            note=self.note,
        )


def _read(name: str, value: float) -> Value:
    """Round as it is read outdoors: whole centimetres and percents; counts stay whole numbers."""
    return round(value) if name in ("count", "years_since", "stems") else float(round(value))


Draw = Callable[[Random, Body], Trouble]


def _dead_wood(throw: Random, tree: Body) -> Trouble:
    largest = min(throw.choice((2, 3, 3, 4, 5, 6, 7, 8)), tree.dbh_cm / 3)
    measures = {"largest_diameter_cm": round(largest, 1), "crown_percent": float(throw.randrange(2, 11))}
    return Trouble("dead_wood", "crown", None, round(0.7 * tree.height_m), None, measures, {"crown_percent": (1.5, 25)})


def _heavy_dead_wood(throw: Random, tree: Body) -> Trouble:
    measures = {"largest_diameter_cm": float(throw.randrange(11, 17)), "crown_percent": float(throw.randrange(12, 35))}
    return Trouble("dead_wood", "crown", None, round(0.7 * tree.height_m), None, measures, {"crown_percent": (4, 60)})


_CAUSES: Final = (("vehicle", 5.0), ("flush_cut", 4.0), ("mower", 3.0), ("branch_tear", 2.0), ("excavation", 1.0))


def _wound(throw: Random, tree: Body) -> Trouble:
    cause = pick(throw, _CAUSES)
    low = cause in ("mower", "excavation")
    measures: dict[str, Value] = {"cause": cause, "circumference_percent": float(throw.randrange(5, 29))}
    measures |= {"years_since": throw.randrange(2, 12), "callus": throw.random() < 0.7}
    height = 0.2 if low else round(throw.uniform(0.6, 2.4), 1)
    part = "root_collar" if low else "stem"
    return Trouble("wound", part, None, height, _azimuth(throw), measures, {"years_since": (1, 60)})


def _cavity(throw: Random, tree: Body) -> Trouble:
    shell = round(tree.dbh_cm * throw.uniform(0.19, 0.34))
    measures = {"opening_percent": float(throw.randrange(4, 20)), "depth_cm": float(round(tree.dbh_cm * 0.22))}
    return Trouble(
        "cavity", "stem", tree.dbh_cm, round(throw.uniform(0.8, 4.5), 1), _azimuth(throw),
        measures | {"shell_cm": float(shell)}, {"opening_percent": (1.0, 30), "depth_cm": (1.0, tree.dbh_cm * 0.4)},
    )  # fmt: skip


def _thin_cavity(throw: Random, tree: Body) -> Trouble:
    shell = tree.dbh_cm * throw.uniform(0.09, 0.155)
    return replace(
        _cavity(throw, tree),
        measures={
            "opening_percent": float(throw.randrange(14, 30)),
            "depth_cm": float(round(tree.dbh_cm * 0.5)),
            "shell_cm": float(round(shell, 1)),
        },
        grows={"opening_percent": (2.0, 45), "depth_cm": (0.5, tree.dbh_cm * 0.7)},
    )


def _decay(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"indicator": throw.choice(("hollow_sound", "loose_bark", "soft_wood"))}
    measures |= {"extent": "minor", "circumference_percent": float(throw.randrange(5, 20))}
    return Trouble(
        "decay", "stem", None, round(throw.uniform(0.4, 3.0), 1), _azimuth(throw), measures,
        {"circumference_percent": (1.5, 40)},
    )  # fmt: skip


def _base_decay(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"indicator": "hollow_sound", "extent": "extensive"}
    measures |= {"circumference_percent": float(throw.randrange(28, 45))}
    return Trouble("decay", "root_collar", None, 0.2, _azimuth(throw), measures, {"circumference_percent": (3.0, 70)})


def _fruiting_body(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"count": throw.randrange(1, 5), "size_cm": float(throw.randrange(5, 22))}
    return Trouble(
        "fruiting_body", "root_collar", None, 0.3, _azimuth(throw), measures | {"alive": True},
        {"count": (0.7, 9)}, "Ganoderma", "probable",
    )  # fmt: skip


def _codominant(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"aspect_ratio": round(throw.uniform(0.7, 1.0), 2), "stems": 2}
    return Trouble("codominant_stems", "union", None, _fork_m(tree), _azimuth(throw), measures)


def _included_bark(throw: Random, tree: Body) -> Trouble:
    measures = {"aspect_ratio": round(throw.uniform(0.55, 0.95), 2), "length_cm": float(throw.randrange(15, 60))}
    grows = {"length_cm": (2.0, 90.0)}
    return Trouble("included_bark_union", "union", None, _fork_m(tree), _azimuth(throw), measures, grows)


def _crack(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"type": "longitudinal", "length_cm": float(throw.randrange(30, 90))}
    measures |= {"width_mm": float(throw.randrange(1, 5)), "count": 1}
    height = round(min(throw.uniform(3.0, 6.0), 0.6 * tree.height_m), 1)
    grows = {"length_cm": (6.0, 200.0), "width_mm": (0.5, 12.0)}
    return Trouble("crack", "stem", None, height, _azimuth(throw), measures, grows)


def _through_crack(throw: Random, tree: Body) -> Trouble:
    crack = _crack(throw, tree)
    return replace(crack, measures={**crack.measures, "through": True})


def _seam(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"type": "closed", "length_cm": float(throw.randrange(60, 200))}
    return Trouble("seam", "stem", None, 1.5, _azimuth(throw), measures)


def _split(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"parted": False, "length_cm": float(throw.randrange(25, 70))}
    measures |= {"years_since": throw.randrange(3, 15)}
    return Trouble("previous_split", "union", None, _fork_m(tree), _azimuth(throw), measures, {"years_since": (1, 60)})


def _stub(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"state": "stub", "diameter_cm": float(throw.randrange(3, 9))}
    return Trouble("broken_branch", "branch", None, round(0.6 * tree.height_m), _azimuth(throw), measures)


def _long_limb(throw: Random, tree: Body) -> Trouble:
    reach = round(max(2.0, tree.crown_m * 0.6), 1)
    measures: dict[str, Value] = {"length_m": reach, "end_weight": throw.random() < 0.5}
    diameter = round(min(throw.uniform(9, 24), tree.dbh_cm * 0.5))
    return Trouble("overextended_limb", "limb", diameter, round(0.4 * tree.height_m), _azimuth(throw), measures)


def _lean(throw: Random, tree: Body) -> Trouble:
    kind = throw.choice(("natural", "corrected"))
    measures: dict[str, Value] = {"type": kind, "angle_deg": float(throw.randrange(5, 18))}
    return Trouble("lean", "stem", None, None, _azimuth(throw), measures)


def _recent_lean(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"type": "recent", "angle_deg": float(throw.randrange(8, 20)), "fresh_signs": True}
    return Trouble("lean", "stem", None, None, _azimuth(throw), measures, {"angle_deg": (1.0, 30)})


def _plate_lift(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"gap_mm": float(throw.randrange(10, 35)), "soil_crack": False, "recent": False}
    return Trouble("root_plate_lift", "root_collar", None, 0.0, _azimuth(throw), measures, {"gap_mm": (2, 80)})


def _cut_roots(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"cause": "cut", "roots_percent": float(throw.randrange(8, 30))}
    measures |= {"distance_m": round(throw.uniform(0.8, 3.0), 1), "years_since": throw.randrange(1, 6)}
    return Trouble("root_loss", "root", None, 0.0, _azimuth(throw), measures, {"years_since": (1, 60)})


def _most_roots_cut(throw: Random, tree: Body) -> Trouble:
    cut = _cut_roots(throw, tree)
    return replace(cut, measures={**cut.measures, "roots_percent": float(throw.randrange(41, 50))})


def _girdling_root(throw: Random, tree: Body) -> Trouble:
    measures = {"circumference_percent": float(throw.randrange(10, 34))}
    return Trouble(
        "girdling_root", "root_collar", None, 0.0, _azimuth(throw), measures, {"circumference_percent": (1.5, 39)}
    )


def _insects(throw: Random, tree: Body) -> Trouble:
    insect = throw.choice(("borer", "bark_beetle"))
    measures: dict[str, Value] = {"insect": insect, "sign": "exit_holes", "extent": "minor"}
    return Trouble("insect_sign", "stem", None, 1.4, _azimuth(throw), measures)


def _canker(throw: Random, tree: Body) -> Trouble:
    measures = {"circumference_percent": float(throw.randrange(8, 27)), "length_cm": float(throw.randrange(15, 70))}
    return Trouble(
        "canker", "stem", None, round(throw.uniform(1.0, 3.5), 1), _azimuth(throw), measures, {"length_cm": (4, 150)}
    )


def _slender(throw: Random, tree: Body) -> Trouble:
    return Trouble("poor_taper", "stem", measures={"slenderness": float(round(100 * tree.height_m / tree.dbh_cm))})


def _torn_crown(throw: Random, tree: Body) -> Trouble:
    measures: dict[str, Value] = {"crown_lost_percent": float(throw.randrange(5, 24)), "agent": "wind"}
    return Trouble("storm_damage", "crown", None, round(0.75 * tree.height_m), _azimuth(throw), measures)


def _azimuth(throw: Random) -> float:
    return float(throw.randrange(0, 360, 5))


def _fork_m(tree: Body) -> float:
    return round(min(3.6, 0.3 * tree.height_m), 1)


# How often each is found; the second list is of weaknesses whose failure is probable by the published classes.
_COMMON: Final[tuple[tuple[Draw, float], ...]] = (
    (_dead_wood, 30), (_wound, 18), (_codominant, 9), (_stub, 7), (_decay, 6), (_included_bark, 6), (_cavity, 5),
    (_lean, 5), (_girdling_root, 4), (_long_limb, 4), (_seam, 3), (_insects, 3), (_canker, 3), (_cut_roots, 3),
    (_fruiting_body, 2), (_split, 2), (_torn_crown, 2), (_crack, 1.5), (_slender, 1.5),
)  # fmt: skip
_YOUNG: Final[tuple[tuple[Draw, float], ...]] = (
    (_wound, 5), (_girdling_root, 3), (_lean, 2), (_codominant, 2), (_slender, 1),
)  # fmt: skip
_GRAVE: Final[tuple[tuple[Draw, float], ...]] = (
    (_heavy_dead_wood, 6), (_thin_cavity, 5), (_base_decay, 4), (_through_crack, 3), (_most_roots_cut, 2),
    (_recent_lean, 2), (_plate_lift, 1),
)  # fmt: skip
_GRAVE_SHARE: Final = 0.075


def of_tree(plan: TreePlan, tree: Body) -> list[Trouble]:
    """Give the troubles of one tree, none for most."""
    throw = dice("troubles", plan.tag)
    chance = 0.06 if plan.age_years < 10 else 0.26 if plan.age_years < 35 else 0.44 if plan.age_years < 75 else 0.6
    chance *= {"weak": 1.2, "strong": 0.85}.get(plan.species.walls_off_decay, 1.0)
    found: list[Trouble] = []
    while len(found) < 3 and throw.random() < chance:
        drawn = _draw(throw, plan, tree)
        if drawn.kind not in {other.kind for other in found}:
            found.append(replace(drawn, began=throw.choice((0.0, 0.0, 0.0, throw.uniform(0.5, 2.6)))))
        chance *= 0.45
    return found


def _draw(throw: Random, plan: TreePlan, tree: Body) -> Trouble:
    if plan.age_years < 12 or tree.dbh_cm < 12:
        return pick(throw, _YOUNG)(throw, tree)
    grave = tree.dbh_cm > 30 and throw.random() < _GRAVE_SHARE
    drawn = pick(throw, _GRAVE if grave else _COMMON)(throw, tree)
    if drawn.kind == "fruiting_body":
        return replace(drawn, fungus_genus=_FUNGI.get(plan.species.genus, "Ganoderma"))
    return drawn
