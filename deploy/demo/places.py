"""Places for trees: along each side of the streets that have any, and free-standing in the greens."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from deploy.demo import ground
from deploy.demo.dice import dice, pick
from deploy.demo.plane import Points, along, apart, distance, inside, length
from deploy.demo.streets import Street, every_street

APART_M: Final = 3.5
_FROM_END_M: Final = 9.0
_CORNER_M: Final = 4.5
_KERB_M: Final = 0.4
_HOUSE_M: Final = 9.0


@dataclass(frozen=True)
class Spot:
    """A place where a tree stands or could stand. `number` counts from 1 in the order of the plan."""

    number: int
    east: float
    north: float
    zone: str
    street: str
    side: str
    house_number: str
    place: str
    kind: str
    space: str
    strip_m: float | None
    lines: str
    occupancy: str
    state: str
    mix: str
    era: tuple[int, int]


@dataclass
class _Taken:
    """What stands already, by cells as wide as the closest spacing."""

    cells: dict[tuple[int, int], list[tuple[float, float]]] = field(default_factory=dict)

    def claim(self, east: float, north: float, gap_m: float = APART_M) -> bool:
        """Take a place unless another is closer than `gap_m`."""
        reach = math.ceil(gap_m / APART_M)
        column, row = int(east // APART_M), int(north // APART_M)
        for x in range(column - reach, column + reach + 1):
            for y in range(row - reach, row + reach + 1):
                if any(math.hypot(east - e, north - n) < gap_m for e, n in self.cells.get((x, y), ())):
                    return False
        self.cells.setdefault((column, row), []).append((east, north))
        return True


def every_place() -> list[Spot]:
    """Give all places in the order of their numbers."""
    streets, taken = every_street(), _Taken()
    found: list[Spot] = []
    for street in streets:
        others = [other for other in streets if other is not street]
        found += _of_street(street, others, taken, len(found))
    for green in ground.GREENS:
        found += _of_green(green, streets, taken, len(found))
    return found


def _of_street(street: Street, others: list[Street], taken: _Taken, so_far: int) -> Iterator[Spot]:
    number = so_far
    for side in street.sides:
        for row, from_middle in enumerate(street.of_kind.rows_m):
            places, at = _row(street, side, row, from_middle)
            free = _clear(places, street, others)
            for (east, north), along_m, zone in zip(places, at, _zones(places), strict=True):
                if next(free) and zone and taken.claim(east, north):
                    spot = _spot(street, side, along_m, zone, number + 1, (east, north))
                    if spot:
                        number += 1
                        yield spot


def _row(street: Street, side: str, row: int, from_middle: float) -> tuple[Points, list[float]]:
    """The places of one row: evenly spaced, each a little off, as driveways and lamps ask for."""
    throw, pitch = dice("row", street.name, side, row), street.of_kind.apart_m
    count = max(0, int((length(street.line) - 2 * _FROM_END_M) / pitch))
    start = _FROM_END_M + (pitch / 2 if row % 2 else 0.0)
    at = np.array([start + pitch * n + throw.uniform(-0.14, 0.14) * pitch for n in range(count)])
    if not count:
        return np.empty((0, 2)), []
    middle, left = along(street.line, at)
    sign = 1.0 if side == "left" else -1.0
    off = np.array([from_middle + throw.uniform(-0.25, 0.25) for _ in range(count)])
    return middle + left * (sign * off)[:, None], at.tolist()


def _clear(places: Points, own: Street | None, others: list[Street]) -> Iterator[bool]:
    """Tell of each place whether it is off its own street where that bends, and off every other and its corners."""
    free = np.ones(len(places), np.bool_)
    for street in [*others, *([own] if own else [])] if len(places) else ():
        clear_m = street.of_kind.half_m + (_KERB_M if street is own else _CORNER_M)
        if not apart(places, street.line, clear_m):
            free &= distance(places, street.line) > clear_m
    return iter(free.tolist())


def _zones(places: Points) -> list[str]:
    found = [""] * len(places)
    for zone in ground.ZONES:
        for place in np.flatnonzero(inside(places, zone.polygon)):
            found[place] = found[place] or zone.code
    return found


def _spot(street: Street, side: str, along_m: float, zone: str, number: int, place: tuple[float, float]) -> Spot | None:
    kind, throw = street.of_kind, dice("spot", street.name, side, round(along_m))
    chance = throw.random()
    if chance > kind.planted + kind.vacant + 0.03:
        return None  # a driveway, a lamp, a shop front: nobody recorded a place here
    state = "planted" if chance < kind.planted else "vacant" if chance < kind.planted + kind.vacant else "unplantable"
    house = 2 * int(along_m / _HOUSE_M) + (1 if side == "left" else 2)
    return Spot(
        number=number,
        east=round(place[0], 2),
        north=round(place[1], 2),
        zone=zone,
        street=street.name,
        side=side,
        house_number="" if street.kind in ("embankment", "square") else str(house),
        place="",
        kind=street.kind,
        space=kind.space,
        strip_m=round(throw.uniform(*kind.strip_m), 1),
        lines=pick(throw, kind.lines),
        occupancy=kind.occupancy,
        state=state,
        mix=street.mix or kind.mix,
        era=street.era or kind.era,
    )


def _of_green(green: ground.Green, streets: list[Street], taken: _Taken, so_far: int) -> Iterator[Spot]:
    """Stems scattered over a green, none closer than it says."""
    throw, number = dice("green", green.name), so_far
    low, high = green.outline.min(axis=0), green.outline.max(axis=0)
    darts = np.array([[throw.uniform(a, b) for a, b in zip(low, high, strict=True)] for _ in range(4000)])
    darts = darts[inside(darts, green.outline)]
    wanted = round(green.per_hectare * _hectares(green.outline))
    for (east, north), free in zip(darts.tolist(), _clear(darts, None, streets), strict=True):
        if number - so_far >= wanted:
            return
        if free and taken.claim(east, north, green.apart_m):
            number += 1
            yield _in_green(green, number, east, north)


def _in_green(green: ground.Green, number: int, east: float, north: float) -> Spot:
    return Spot(
        number=number,
        east=round(east, 2),
        north=round(north, 2),
        zone=green.zone,
        street="",
        side="",
        house_number="",
        place=green.name,
        kind="green",
        space="natural" if green.mix == "riverside" else "park",
        strip_m=None,
        lines="none",
        occupancy=green.occupancy,
        state="planted",
        mix=green.mix,
        era=(140, 3),
    )


def _hectares(outline: Points) -> float:
    x, y = outline.T
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 20_000
