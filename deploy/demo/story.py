"""Trees with a story, under tags of their own, for the guide to point at; and those that storms broke."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

from assessments.records import ActionRecord, TargetRecord
from deploy.demo import days
from deploy.demo.looks import Visit
from deploy.demo.stock import TreePlan
from deploy.demo.troubles import Trouble

LIME, POPLAR, PLANE, BEECH, OAK, ASH, KERB_LIME = (f"HM-000{number}" for number in range(1, 8))


@dataclass(frozen=True)
class Story:
    """One tree: where to find a fit one, what is wrong with it, who is under it, and its looks (days ago, level)."""

    tag: str
    place: str
    genus: str
    least_cm: float
    troubles: tuple[Trouble, ...]
    targets: tuple[TargetRecord, ...] = ()
    looks: tuple[tuple[int, str, str], ...] = ()
    actions: ActionRecord | None = None
    note: str = ""
    section: Mapping[str, Any] | None = None  # what an advanced look measures of the first trouble
    stem_load: Mapping[str, Any] | None = None  # crown and stem as an advanced look measures them
    most_cm: float = math.inf


def _people(label: str, exposure: str = "full", occupancy: str = "constant") -> TargetRecord:
    return TargetRecord("people", label, occupancy, exposure, zone="drip_line", restrictable=True)


# Through the cavity of the lime: drilled eight times round the stem, the mouth toward the north-west, a crack behind.
_HOLLOW: Final[Mapping[str, Any]] = {
    "height_m": 1.4,
    "diameter_cm": 80.0,
    "bark_cm": 2.0,
    "readings": [
        {"azimuth_deg": azimuth, "sound_wall_cm": wall, "method": "drilling"}
        for azimuth, wall in (
            (350.0, 12.5), (30.0, 17.0), (75.0, 21.0), (120.0, 22.5), (165.0, 19.0), (205.0, 16.0), (240.0, 13.5),
            (270.0, 12.0),
        )
    ],
    "openings": [{"azimuth_deg": 310.0, "width_cm": 30.0}],
    "cracks": [{"azimuth_deg": 128.0, "gap_to_edge_cm": 0.0, "inner_radius_cm": 24.0}],
}  # fmt: skip
# Its crown, for the wind; species, girth and height are the tree's own.
_CROWN: Final[Mapping[str, Any]] = {
    "crown_base_m": 3.6,
    "crown_width_m": 11.5,
    "bark_cm": 2.0,
    "sections": [{"height_m": 0.3, "diameter_cm": 88.0}],
    "reduction": {"length_percent": 15.0, "width_percent": 15.0},
}
# Toward the kerb that was dug in years ago; the collar of the roadside lime drilled eight times, thin on that side.
KERB_DEG: Final = 105.0
_COLLAR: Final[Mapping[str, Any]] = {
    "height_m": 0.4,
    "diameter_cm": 78.0,
    "bark_cm": 2.0,
    "readings": [
        {"azimuth_deg": azimuth, "sound_wall_cm": wall, "method": "drilling"}
        for azimuth, wall in (
            (15.0, 17.0), (60.0, 12.0), (80.0, 9.5), (130.0, 10.0), (150.0, 12.5), (195.0, 18.0), (240.0, 22.0),
            (330.0, 21.5),
        )
    ],
    "openings": [{"azimuth_deg": KERB_DEG, "width_cm": 24.0}],
}  # fmt: skip
_KERB_CROWN: Final[Mapping[str, Any]] = {
    "crown_base_m": 4.2,
    "crown_width_m": 13.0,
    "bark_cm": 2.0,
    "sections": [{"height_m": 1.0, "diameter_cm": 72.5}],
    "reduction": {"length_percent": 15.0, "width_percent": 15.0},
}
_RECENT: Final = days.YEARS + 0.1
STORIES: Final = (
    Story(
        LIME, "Fallowmead Avenue", "Tilia", 60,
        (
            Trouble(
                "cavity", "stem", 80.0, 1.4, 310.0,
                {"opening_percent": 18.0, "depth_cm": 38.0, "shell_cm": 12.0}, {"opening_percent": (2.5, 33)},
            ),
            Trouble(
                "fruiting_body", "root_collar", None, 0.2, 300.0, {"count": 2, "size_cm": 11.0, "alive": True},
                {"count": (1.0, 6)}, "Kretzschmaria", "probable", began=1.0,
            ),
        ),
        (_people("people at the tram stop"), TargetRecord("vehicles", "trams and traffic", "frequent", "full")),
        ((980, "basic", "routine"), (620, "basic", "routine"), (16, "advanced", "follow_up")),
        section=_HOLLOW,
        stem_load=_CROWN,
    ),
    Story(
        POPLAR, "South Embankment", "Populus", 40,
        (
            Trouble("dead_wood", "crown", None, 14.0, None, {"largest_diameter_cm": 7.0, "crown_percent": 8.0}),
            Trouble(
                "broken_branch", "limb", 23.0, 9.0, 180.0, {"state": "hanging", "diameter_cm": 23.0}, began=_RECENT,
                note="torn off at the fork, held by bark and two twigs",
            ),
        ),
        (_people("children at the school entrance"),),
        ((700, "basic", "routine"), (1, "basic", "request")),
        ActionRecord(
            done_on_spot="entrance closed, children led round by the yard; barriers 20 m around the tree",
            told_whom="head of the school; duty forester",
        ),
        "Limb hangs over the school entrance.",
    ),
    Story(
        PLANE, "Rampart Ring", "Platanus", 70,
        (
            Trouble(
                "included_bark_union", "union", None, 4.2, 60.0, {"aspect_ratio": 0.85, "length_cm": 55.0},
                {"length_cm": (3.0, 90)},
            ),
            Trouble(
                "crack", "union", None, 4.0, 60.0, {"type": "longitudinal", "length_cm": 40.0, "width_mm": 3.0},
                {"length_cm": (8, 90), "width_mm": (1.0, 8)}, began=0.8,
            ),
        ),
        (), ((900, "basic", "routine"), (540, "basic", "follow_up"), (150, "basic", "follow_up")),
    ),
    Story(
        BEECH, "Fallowmead Park", "Fagus", 60,
        (
            Trouble(
                "fruiting_body", "root", None, 0.0, 20.0, {"count": 3, "size_cm": 30.0, "alive": True},
                {"count": (2.0, 12), "size_cm": (4.0, 60)}, "Meripilus", "certain",
            ),
            Trouble(
                "root_loss", "root", None, 0.0, 25.0, {"cause": "decay", "roots_percent": 25.0},
                {"roots_percent": (8.0, 49)},
            ),
        ),
        (_people("children at the playground"),),
        ((1000, "basic", "routine"), (640, "advanced", "follow_up"), (25, "basic", "follow_up")),
    ),
    Story(
        OAK, "Chequers Avenue", "Quercus", 30,
        (
            Trouble(
                "root_loss", "root", None, 0.0, 150.0,
                {"cause": "cut", "roots_percent": 44.0, "distance_m": 1.1, "years_since": 0}, began=1.9,
            ),
        ),
        (), ((800, "basic", "routine"), (330, "basic", "project")),
    ),
    Story(
        ASH, "Millrace Avenue", "Fraxinus", 35,
        (
            Trouble(
                "dead_wood", "crown", None, 12.0, None, {"largest_diameter_cm": 7.0, "crown_percent": 24.0},
                {"largest_diameter_cm": (5.0, 16), "crown_percent": (18.0, 85)},
            ),
            Trouble(
                "insect_sign", "stem", None, 1.5, 250.0,
                {"insect": "borer", "sign": "exit_holes", "extent": "moderate"},
            ),
        ),
        (_people("people at the bus stop", "partial"),),
        ((960, "basic", "routine"), (420, "basic", "routine")),
    ),
    Story(
        KERB_LIME, "Westfold Avenue", "Tilia", 64,
        (
            Trouble(
                "cavity", "root_collar", 78.0, 0.3, KERB_DEG,
                {"opening_percent": 8.0, "depth_cm": 32.0, "opening_height_cm": 35.0, "shell_cm": 9.5},
                {"opening_percent": (1.0, 14)}, note="where the kerb was dug in about 14 years ago",
            ),
            Trouble(
                "fruiting_body", "root_collar", None, 0.1, 120.0, {"count": 2, "size_cm": 13.0, "alive": True},
                {"count": (1.0, 5)}, "Ganoderma", "certain", began=0.8,
            ),
            Trouble("seam", "stem", None, 1.1, KERB_DEG, {"type": "closed", "length_cm": 120.0}),
        ),
        (_people("people on the footway"), TargetRecord("vehicles", "traffic", "frequent", "full")),
        ((1010, "basic", "routine"), (640, "basic", "routine"), (150, "advanced", "follow_up")),
        section=_COLLAR,
        stem_load=_KERB_CROWN,
        most_cm=84,
    ),
)  # fmt: skip


@dataclass(frozen=True)
class OpenCheck:
    """A check that a story waits for."""

    tag: str
    kind: str
    source: str
    in_days: int
    why: str


CHECKS: Final = (
    OpenCheck(OAK, "excavation", "project", 12, "the trench for the new water main runs 1 m from the stem"),
    OpenCheck(PLANE, "support", "support", 60, "the cable is to be looked at every year"),
)


def told(trees: list[TreePlan]) -> list[tuple[TreePlan, Story | None]]:
    """Give each tree its story, where it has one: the first fit tree of each place, under the story's tag."""
    wanted = {story.tag: story for story in STORIES}
    found: list[tuple[TreePlan, Story | None]] = []
    for tree in trees:
        story = next((one for one in wanted.values() if _fits(tree, one)), None)
        if story:
            del wanted[story.tag]
            found.append((replace(tree, tag=story.tag), story))
        else:
            found.append((tree, None))
    if wanted:
        raise LookupError(f"no tree of the plan fits the story of {', '.join(wanted)}")
    return found


def _fits(tree: TreePlan, story: Story) -> bool:
    return (
        tree.state == "alive"
        and story.place in (tree.spot.street, tree.spot.place)
        and tree.species.genus == story.genus
        and tree.newest is not None
        and story.least_cm <= tree.newest.dbh_cm <= story.most_cm
    )


def visits(story: Story, reference: date) -> list[Visit]:
    """The looks of a story."""
    return [
        Visit(story.tag, reference - timedelta(days=ago), "inspector", level, trigger)
        for ago, level, trigger in story.looks
    ]
