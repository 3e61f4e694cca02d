"""The streets of the invented city: drawn ones of the core and the avenues, and quarters laid out by a pattern."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from deploy.demo import ground
from deploy.demo.dice import dice, pick
from deploy.demo.kinds import KINDS, Kind
from deploy.demo.plane import Points, beside, closed, distance, inside, kept_runs, length, points, smooth, thinned

SHORTEST_M: Final = 90.0
# Not every street has trees: by share of the streets of a quarter.
_SIDES: Final = ((("left", "right"), 0.27), (("left",), 0.21), (("right",), 0.21), ((), 0.31))
_FROM_RIVER_M: Final = 78.0
_FROM_EDGE_M: Final = 22.0
_FROM_GREEN_M: Final = 14.0


@dataclass(frozen=True)
class Street:
    """A street: its middle line from the lower house numbers on, and the sides that have trees."""

    name: str
    kind: str
    line: Points
    sides: tuple[str, ...] = ("left", "right")
    mix: str = ""
    era: tuple[int, int] | None = None

    @property
    def of_kind(self) -> Kind:
        """What holds for its kind."""
        return KINDS[self.kind]


# Invented from plain words; checked against no map, for the place does not exist.
_FIRST: Final = (
    "Amber", "Bracken", "Cobweb", "Copper", "Cuckoo", "Damson", "Dapple", "Ember", "Fennel", "Finch", "Flint",
    "Gorse", "Goshawk", "Heron", "Hollow", "Juniper", "Kettle", "Lantern", "Linnet", "Lovage", "Marigold", "Moss",
    "Nettle", "Nuthatch", "Otter", "Pebble", "Plover", "Quill", "Quince", "Saffron", "Sedge", "Shuttle", "Siskin",
    "Sorrel", "Spindle", "Tansy", "Teasel", "Thimble", "Thistle", "Tinder", "Umber", "Velvet", "Wagtail", "Weaver",
    "Whistle", "Woodruff", "Wren", "Yarrow",
)  # fmt: skip


def _names(last: Sequence[str], start: int) -> Iterator[str]:
    """Names one after another, never the same twice for different `last` words."""
    count = len(_FIRST)
    for number in range(count * len(last)):
        yield f"{_FIRST[(start + 7 * number) % count]} {last[(number + number // count) % len(last)]}"


_AVENUES: Final = (
    ("Westfold Avenue", "avenue_w", "lime", (118, 96)),
    ("Larkhill Avenue", "avenue_nw", "chestnut", (112, 84)),
    ("Fallowmead Avenue", "avenue_n", "lime", (128, 104)),
    ("Northmoor Avenue", "avenue_ne", "maple", (74, 52)),
    ("Chequers Avenue", "avenue_e", "oak", (66, 44)),
    ("Bridge Avenue", "avenue_s", "plane", (98, 80)),
    ("Southfold Avenue", "avenue_se", "mixed_avenue", (58, 34)),
    ("Millrace Avenue", "avenue_sw", "ash", (76, 50)),
)
_LANES: Final = (
    ("Tallow Lane", ((-30, -25), (-110, -45), (-205, -15), (-330, -55), (-500, -55))),
    ("Coopers Lane", ((30, 25), (115, 55), (210, 40), (330, 85), (460, 85))),
    ("Bellwether Street", ((-15, 30), (-45, 125), (-15, 225), (-70, 360))),
    ("Narrow Bridge Street", ((10, -30), (25, -115), (-10, -185), (0, -225))),
    ("Hatters Row", ((-45, 125), (-150, 135), (-255, 180), (-360, 220))),
    ("Candle Lane", ((-15, 225), (85, 235), (170, 280), (255, 315))),
    ("Salters Steps", ((115, 55), (140, 140), (100, 235))),
    ("Pewter Street", ((210, 40), (235, -60), (195, -155), (220, -240))),
    ("Gable Lane", ((-110, -45), (-135, -135), (-95, -220))),
    ("Orchard Wall", ((-205, -15), (-225, 80), (-150, 135))),
    ("Fuller Street", ((-205, -15), (-255, -115), (-235, -225))),
    ("Anchor Passage", ((235, -60), (330, -45), (420, -95), (515, -85))),
    ("Clockmaker Street", ((140, 140), (250, 150), (335, 210))),
    ("Old Tannery Lane", ((25, -115), (110, -135), (195, -155))),
)
_SQUARE: Final = ((-40, -25), (35, -30), (45, 25), (-35, 35))


def every_street() -> list[Street]:
    """Give all streets, the main ones first: a place for a tree goes to the first street that claims it."""
    return [*_main_streets(), *_old_town(), *_quarters()]


def _main_streets() -> Iterator[Street]:
    ring = ground.joined("ring_1", "ring_2", "ring_3", "ring_4", "ring_5", "ring_6")
    yield Street("Rampart Ring", "ring", ring)
    for name, edge, mix, era in _AVENUES:
        yield Street(name, "avenue", ground.edge(edge), mix=mix, era=era)
    river = ground.joined("river_1", "river_2", "river_3", "river_4")
    yield Street(f"{ground.RIVER} Embankment", "embankment", smooth(beside(river, 42.0), 1))
    south = smooth(beside(river, -44.0), 1)
    yield Street("South Embankment", "embankment", south, sides=("left",), mix="riverside_walk", era=(90, 30))


def _old_town() -> Iterator[Street]:
    yield Street("Market Square", "square", closed(points(_SQUARE)), sides=("left",))
    for name, places in _LANES:
        yield Street(name, "lane", smooth(points(places), 2), sides=("left",) if len(name) % 2 else ("right",))


def _quarters() -> Iterator[Street]:
    streets, lanes = _names(("Street", "Row"), 3), _names(("Lane", "Walk", "Close"), 20)
    rises, roads = _names(("Rise", "Crescent"), 11), _names(("Road", "Wharf"), 34)
    yield from _laid("CH", "grid", streets, _grid((975, 685), 22.0, (105.0, 165.0)))
    yield from _laid("SB", "grid", streets, _grid((895, -795), -9.0, (118.0, 190.0)), mix="grid_south", era=(58, 14))
    yield from _laid("LH", "garden", rises, _rings((-1090, 545), (110, 220, 330, 440), 0.75, 7))
    yield from _laid("FM", "garden", lanes, _grid((-545, 1055), 38.0, (150.0, 210.0)))
    yield from _laid("NM", "residential", rises, _rings((375, 1035), (100, 205, 310, 415), 0.9, 6))
    yield from _laid("WF", "residential", lanes, _waves((-1090, -180), 8.0, 120.0))
    yield from _laid("EQ", "quay", roads, _grid((1130, -45), 7.0, (140.0, 330.0)))
    yield from _laid("MM", "residential", rises, _rings((-975, -850), (90, 200), 0.55, 4), era=(28, 4))
    yield from _laid("SF", "residential", lanes, _waves((-350, -1130), -14.0, 125.0), era=(36, 5))


def _laid(
    code: str,
    kind: str,
    names: Iterator[str],
    lines: Iterator[Points],
    mix: str = "",
    era: tuple[int, int] | None = None,
) -> Iterator[Street]:
    """Lay a pattern into a zone: what falls outside, into the river or into a green is cut off."""
    for line in lines:
        for run in _within(code, line):
            name = next(names)
            sides = pick(dice("sides", name), _SIDES)
            yield Street(name, kind, run, sides=sides, mix=mix, era=era)


def _within(code: str, line: Points) -> list[Points]:
    river = ground.joined("river_1", "river_2", "river_3", "river_4")
    edge = np.concatenate([ground.edge(name) for name in ("edge_w", "edge_nw", "edge_n", "edge_ne", "edge_e")])
    south = np.concatenate([ground.edge(name) for name in ("edge_se", "edge_s", "edge_sw")])
    keep = inside(line, ground.zone(code).polygon) & (distance(line, river) > _FROM_RIVER_M)
    keep &= (distance(line, edge) > _FROM_EDGE_M) & (distance(line, south) > _FROM_EDGE_M)
    for green in ground.GREENS:
        keep &= ~inside(line, green.outline) & (distance(line, closed(green.outline)) > _FROM_GREEN_M)
    return [thinned(run, 3) for run in kept_runs(line, keep) if length(run) > SHORTEST_M]


def _turned(line: Points, middle: tuple[float, float], degrees: float) -> Points:
    turn = math.radians(degrees)
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return np.asarray(line @ matrix + np.array(middle))


def _grid(middle: tuple[float, float], degrees: float, pitch_m: tuple[float, float]) -> Iterator[Points]:
    """Two families of parallels, the closer one first."""
    reach = np.arange(-1400.0, 1401.0, 6.0)
    for across, pitch in enumerate(pitch_m):
        for number in range(-9, 10):
            line = np.stack([reach, np.full_like(reach, number * pitch)], axis=1)
            yield _turned(line[:, ::-1] if across else line, middle, degrees)


def _waves(middle: tuple[float, float], degrees: float, pitch_m: float) -> Iterator[Points]:
    """Gently winding parallels and some straight links between them."""
    reach = np.arange(-1400.0, 1401.0, 6.0)
    for number in range(-8, 9):
        wave = number * pitch_m + 26.0 * np.sin(reach / 150.0 + number)
        yield _turned(np.stack([reach, wave], axis=1), middle, degrees)
    for number in range(-4, 5):
        line = np.stack([number * 290.0 + 15.0 * np.sin(reach / 120.0), reach], axis=1)
        yield _turned(line, middle, degrees)


def _rings(middle: tuple[float, float], radii_m: Sequence[float], flat: float, spokes: int) -> Iterator[Points]:
    """Uneven rings around a hill, and spokes from the first ring outwards."""
    turn = np.linspace(0, 2 * math.pi, 260)
    for number, radius in enumerate(radii_m):
        uneven = radius * (1 + 0.07 * np.sin(3 * turn + number))
        yield np.stack([uneven * np.cos(turn), flat * uneven * np.sin(turn)], axis=1) + np.array(middle)
    for spoke in range(spokes):
        way = 2 * math.pi * (spoke + 0.3) / spokes
        reach = np.arange(radii_m[0], radii_m[-1] + 260, 6.0)
        bend = way + 0.18 * np.sin(reach / 170)
        yield np.stack([reach * np.cos(bend), flat * reach * np.sin(bend)], axis=1) + np.array(middle)
