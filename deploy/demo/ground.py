"""The ground plan of Harrowmere as data: river, rampart ring, radial avenues, edge of the city, and its ten zones."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from deploy.demo.plane import Place, Points, points, smooth

CITY: Final = "Harrowmere"
RIVER: Final = "Tamsel"

# Where lines meet: metres east and north of the market square.
_NODES: Final[Mapping[str, Place]] = {
    "river_in": (-1835, -185),
    "ring_river_w": (-485, -345),
    "bridge": (0, -260),
    "ring_river_e": (475, -355),
    "river_out": (1950, -110),
    "gate_w": (-505, -45),
    "gate_nw": (-365, 225),
    "gate_n": (-70, 365),
    "gate_ne": (255, 320),
    "gate_e": (470, 85),
    "fork": (45, -625),
    "west": (-1910, 195),
    "northwest": (-1285, 1170),
    "north": (-140, 1520),
    "northeast": (1170, 1265),
    "east": (1910, 350),
    "south": (195, -1480),
    "southwest": (-1365, -1130),
}
# From, bends between, to. The avenues keep their bends; river and ring are rounded.
_EDGES: Final[Mapping[str, tuple[str, tuple[Place, ...], str]]] = {
    "river_1": ("river_in", ((-1480, -330), (-1055, -435), (-740, -390)), "ring_river_w"),
    "river_2": ("ring_river_w", ((-335, -280), (-155, -250)), "bridge"),
    "river_3": ("bridge", ((165, -270), (335, -310)), "ring_river_e"),
    "river_4": ("ring_river_e", ((700, -445), (1090, -435), (1520, -280)), "river_out"),
    "ring_1": ("ring_river_w", ((-540, -205),), "gate_w"),
    "ring_2": ("gate_w", ((-485, 115),), "gate_nw"),
    "ring_3": ("gate_nw", ((-255, 345),), "gate_n"),
    "ring_4": ("gate_n", ((100, 375),), "gate_ne"),
    "ring_5": ("gate_ne", ((405, 235),), "gate_e"),
    "ring_6": ("gate_e", ((515, -60), (540, -220)), "ring_river_e"),
    "avenue_w": ("gate_w", ((-1055, 25),), "west"),
    "avenue_nw": ("gate_nw", ((-725, 645),), "northwest"),
    "avenue_n": ("gate_n", ((-125, 920),), "north"),
    "avenue_ne": ("gate_ne", ((665, 750),), "northeast"),
    "avenue_e": ("gate_e", ((1170, 180),), "east"),
    "avenue_s": ("bridge", (), "fork"),
    "avenue_se": ("fork", ((110, -975),), "south"),
    "avenue_sw": ("fork", ((-640, -840),), "southwest"),
    "edge_w": ("river_in", (), "west"),
    "edge_nw": ("west", ((-1755, 700),), "northwest"),
    "edge_n": ("northwest", ((-700, 1460),), "north"),
    "edge_ne": ("north", ((545, 1505),), "northeast"),
    "edge_e": ("northeast", ((1675, 840),), "east"),
    "edge_river": ("east", (), "river_out"),
    "edge_se": ("river_out", ((1795, -740), (1170, -1280)), "south"),
    "edge_s": ("south", ((-665, -1425),), "southwest"),
    "edge_sw": ("southwest", ((-1755, -700),), "river_in"),
}


def edge(name: str) -> Points:
    """Give one line of the plan, from its first node to its last."""
    start, bends, end = _EDGES[name]
    line = points([_NODES[start], *bends, _NODES[end]])
    return smooth(line, 3) if name.startswith(("river", "ring")) else line


def joined(*names: str) -> Points:
    """Give several lines end to end; a minus before a name turns it round."""
    pieces = [edge(name[1:])[::-1] if name.startswith("-") else edge(name) for name in names]
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


@dataclass(frozen=True)
class ZonePlan:
    """A zone: its code, name, how often people are there, and its outline by the lines of the plan."""

    code: str
    name: str
    occupancy: str
    outline: tuple[str, ...]

    @property
    def polygon(self) -> Points:
        """The outline, (n, 2), its first point not repeated."""
        return joined(*self.outline)[:-1]


_RING_BACK: Final = ("-ring_6", "-ring_5", "-ring_4", "-ring_3", "-ring_2", "-ring_1")
ZONES: Final = (
    ZonePlan("OT", "Old Town", "constant", ("river_2", "river_3", *_RING_BACK)),
    ZonePlan("WF", "Westfold", "frequent", ("river_1", "ring_1", "avenue_w", "-edge_w")),
    ZonePlan("LH", "Larkhill", "occasional", ("-avenue_w", "ring_2", "avenue_nw", "-edge_nw")),
    ZonePlan("FM", "Fallowmead", "frequent", ("-avenue_nw", "ring_3", "avenue_n", "-edge_n")),
    ZonePlan("NM", "Northmoor", "occasional", ("-avenue_n", "ring_4", "avenue_ne", "-edge_ne")),
    ZonePlan("CH", "Chequers", "frequent", ("-avenue_ne", "ring_5", "avenue_e", "-edge_e")),
    ZonePlan("EQ", "Eastquay", "occasional", ("-avenue_e", "ring_6", "river_4", "-edge_river")),
    ZonePlan("SB", "Southbank", "frequent", ("river_3", "river_4", "edge_se", "-avenue_se", "-avenue_s")),
    ZonePlan("SF", "Southfold", "occasional", ("avenue_se", "edge_s", "-avenue_sw")),
    ZonePlan("MM", "Mill Meadows", "rare", ("river_1", "river_2", "avenue_s", "avenue_sw", "edge_sw")),
)


def zone(code: str) -> ZonePlan:
    """Give the zone of a code."""
    return next(one for one in ZONES if one.code == code)


@dataclass(frozen=True)
class Green:
    """A park or meadow with free-standing trees: stems a hectare, closest spacing in m."""

    name: str
    zone: str
    outline: Points
    per_hectare: float
    apart_m: float
    mix: str
    occupancy: str


GREENS: Final = (
    Green(
        "Fallowmead Park", "FM",
        smooth(points([(-500, 500), (-205, 470), (-180, 700), (-205, 950), (-405, 990), (-595, 795)]), 2),
        17.0, 7.0, "park", "frequent",
    ),
    Green(
        "Quiet Ground", "LH",
        points([(-1170, 100), (-975, 100), (-965, 235), (-1160, 240)]),
        24.0, 6.0, "burial_ground", "occasional",
    ),
    Green(
        "Mill Meadow", "MM",
        smooth(points([(-1210, -515), (-780, -470), (-500, -435), (-545, -545), (-860, -625), (-1250, -645)]), 2),
        14.0, 8.0, "riverside", "occasional",
    ),
    Green(
        "Lantern Green", "CH",
        points([(920, 435), (1035, 460), (1010, 580), (895, 555)]),
        22.0, 7.0, "park", "frequent",
    ),
)  # fmt: skip
