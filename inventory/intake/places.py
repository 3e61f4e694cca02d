"""Finds which columns hold the places of the trees and in which system, by where the points would fall.

Every cell or pair of columns that could be a point is read in every way it could be meant; the readings of the same
rows vouch for each other. A heading that says otherwise than the numbers does not decide.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.geo.transform import is_geographic
from inventory.intake import cells, points, systems
from inventory.intake.headings import named
from inventory.intake.roles import ORDERS
from inventory.intake.systems import Reading
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

ROWS = 4_000
FEWEST = 0.5
# Fewer distinct points than this share of the rows are no places of trees but one point for all of them.
DISTINCT = 0.02
MOST = 40
TOGETHER = ("degreesdegrees", "metresmetres")


@dataclass(frozen=True)
class Pair:
    """Columns that may hold points, read as (first, second); `headings` has one name for a point, else two."""

    headings: tuple[str, ...]
    first: Floats
    second: Floats
    says: str = ""  # the order in which headings or form have them, of ORDERS
    why: str = ""
    srid: int | None = None


@dataclass(frozen=True)
class Placing:
    """Where the trees are: an opinion for each column that says so, the system, and what a person should know."""

    opinions: dict[str, Opinion]
    crs: int
    doubts: tuple[str, ...] = ()
    remarks: tuple[tuple[str, str], ...] = ()
    # The system for whose metres the degrees were taken by mistake; 0 for none.
    taken_for: int = 0


@dataclass(frozen=True)
class _Way:
    """A pair under one reading."""

    pair: Pair
    order: str
    reading: Reading
    trust: float


def place(
    headings: Sequence[str], columns: Sequence[list[str]], declared: str, near: systems.Point | None = None
) -> Placing | None:
    """Decide over all columns of a sample (row by row the same rows); None where no points are found.

    `near` is where the city's trees stand (longitude, latitude), where that is known.
    """
    pairs = _pairs(headings, columns)
    good = [pair for pair in pairs if not _one_point(pair)]
    lumps = [pair for pair in pairs if _one_point(pair)]
    ways = [way for pair in good or lumps for way in _degrees(pair, near)]
    known = _agreed(ways)
    declared_srid = systems.named(declared) if declared else None
    for pair in good or lumps:
        ways += _projected(pair, declared_srid if len(pair.headings) == 1 else None, known, near)
    if not good:
        ways = [way for pair in lumps for way in _restored(pair, near)] or ways
    if not ways:
        return None
    best = max(ways, key=lambda way: _score(way, known or _agreed(ways)))
    return _placing(best, ways, lumps if good else [], good, declared)


def _pairs(headings: Sequence[str], columns: Sequence[list[str]]) -> list[Pair]:
    count = len(columns[0]) if columns else 0
    rows = sorted({count * step // ROWS for step in range(ROWS)}) if count else []
    taken = [[column[row] for row in rows] for column in columns]
    found = [pair for heading, column in zip(headings, taken, strict=True) if (pair := _cell(heading, column))]
    numeric = [(at, n) for at, column in enumerate(taken) if (n := _numbers(column)) is not None]
    kinds = {at: _kind(headings[at]) for at, _ in numeric}
    # Those whose headings speak come first; of the others only neighbours are tried, and not without end.
    numeric.sort(key=lambda pair: not any(kinds[pair[0]]))
    for place, (one, first) in enumerate(numeric):
        for other, second in numeric[place + 1 :]:
            if len(found) >= MOST:
                return found
            (at, a), (to, b) = sorted(((one, first), (other, second)), key=lambda pair: pair[0])
            pair = _two((headings[at], kinds[at], a), (headings[to], kinds[to], b), to - at)
            found += [pair] if pair else []
    return found


def _cell(heading: str, column: list[str]) -> Pair | None:
    filled = [cell for cell in column if cell.strip()][:50]
    if not filled or sum(1 for cell in filled if np.isfinite(points.pair(cell)[0])) < 0.8 * len(filled):
        return None
    both = np.array([points.pair(cell) for cell in column], float).reshape(-1, 2)
    both[np.isinf(both).any(axis=1)] = np.nan
    if np.isfinite(both).all(axis=1).mean() < FEWEST:
        return None
    text = heading.casefold()
    at = (text.find("lat"), max(text.find("lon"), text.find("lng")))
    first = filled[0].lstrip()
    if min(at) >= 0:
        says, why = ORDERS[at[0] > at[1]], "the heading gives their order"
    elif first[:1].isalpha() or first[:1] == "{" or (" " not in first and "," not in first and ";" not in first):
        says, why = "lon_lat", "longitude first, as WKT, EWKB and GeoJSON have it"
    else:
        says, why = "lat_lon", "latitude first, as pairs are commonly written"
    return Pair((heading,), both[:, 0], both[:, 1], says, why, points.srid(filled[0]))


def _numbers(column: list[str]) -> Floats | None:
    """The numbers of a column that could be coordinates: nearly all filled cells, and with decimals or large."""
    sign = "," if any("," in cell for cell in column[:50]) else "."
    found = np.array([cells.number(cell, sign) for cell in column], float)
    known = found[np.isfinite(found)]
    if len(known) < FEWEST * len(found) or np.isinf(found).mean() > 0.1:
        return None
    found[np.isinf(found)] = np.nan
    scaled = np.abs(known) * 100
    decimals = np.mean(np.abs(scaled - np.round(scaled)) > 1e-6) > 0.3
    large = np.median(np.abs(known)) > 1_000
    return found if decimals or large else None


Kind = tuple[str, str]


def _two(one: tuple[str, Kind, Floats], other: tuple[str, Kind, Floats], between: int) -> Pair | None:
    """Two columns that may be a point together: by their headings, or side by side and with decimals."""
    (heading, (north, east), first), (another, (north_of_other, east_of_other), second) = one, other
    headings = (heading, another)
    pair = (
        north + east_of_other if north and east_of_other else east + north_of_other if east and north_of_other else ""
    )
    if pair and (pair in TOGETHER or _parted(heading) == _parted(another)):
        srid = systems.in_heading(*headings)
        order = "lat_lon" if north and east_of_other else "lon_lat"
        return Pair(headings, first, second, order, "the headings say so", srid)
    if between == 1 and not (north or east or north_of_other or east_of_other) and _fine(first) and _fine(second):
        return Pair(headings, first, second)
    return None


def _kind(heading: str) -> Kind:
    """Whether a heading names a direction north and one east: "degrees" or "metres" of it, else nothing."""

    def named_as(degrees: str, metres: str) -> str:
        if named(degrees, heading) >= 0.5:
            return "degrees"
        return "metres" if named(metres, heading) >= 0.5 else ""

    return named_as("latitude", "northing"), named_as("longitude", "easting")


def _parted(heading: str) -> str:
    """A heading without the letters that tell east from north: x_sp and y_sp are a pair."""
    plain = heading.casefold()
    for word in ("longitude", "latitude", "long", "lon", "lng", "lat", "easting", "northing", "x", "y", "e", "n"):
        plain = plain.replace(word, "")
    return plain


def _fine(values: Floats) -> bool:
    """Numbers with three decimals or more, as coordinates have and sizes have not."""
    scaled = values[np.isfinite(values)] * 100
    return bool(np.mean(np.abs(scaled - np.round(scaled)) > 1e-6) > 0.5)


def _one_point(pair: Pair) -> bool:
    known = np.isfinite(pair.first) & np.isfinite(pair.second)
    if known.sum() < 20:
        return False
    x, y = pair.first[known], pair.second[known]
    if np.abs(x).max() <= 180 and np.abs(y).max() <= 180:
        # Within ten metres: what a geocoder or a wrong projection gives to every row.
        x, y = np.round(x, 4), np.round(y, 4)
    lumped = len(np.unique(x + 1j * y)) < max(2.0, DISTINCT * len(x))
    return bool(lumped or (np.ptp(x) < 0.002 and np.ptp(y) < 0.002 and len(x) > 200))


def _degrees(pair: Pair, near: systems.Point | None) -> list[_Way]:
    """The two orders of a pair as degrees, where both numbers can be degrees."""
    largest = max(np.nanmax(np.abs(pair.first)), np.nanmax(np.abs(pair.second)))
    middle = max(np.nanmedian(np.abs(pair.first)), np.nanmedian(np.abs(pair.second)))
    if middle > 180 or largest > 1e7:
        return []
    found = []
    for order in ORDERS:
        lon, lat = (pair.second, pair.first) if order == "lat_lon" else (pair.first, pair.second)
        if systems.is_city(lon, lat):
            home = systems.suits_home(float(np.nanmedian(lon)), float(np.nanmedian(lat)), near)
            trust = _trust(pair, order) + 2.0 * home
            found.append(_Way(pair, order, Reading(4326, lon, lat, pair.why, 4), trust))
    return found


def _trust(pair: Pair, order: str) -> float:
    """Headings of two columns say more than the order in which a form usually has them."""
    sure = 1.5 if len(pair.headings) == 2 else 1.0
    return 0.0 if not pair.says else sure if order == pair.says else -sure


def _projected(
    pair: Pair, declared: int | None, known: tuple[Floats, Floats] | None, near: systems.Point | None
) -> list[_Way]:
    """A pair as metres or feet: of the system that is named first, else of any under which it falls on a city."""
    if max(np.nanmedian(np.abs(pair.first)), np.nanmedian(np.abs(pair.second))) <= 400:
        return []
    found = []
    for order in ORDERS:
        x, y = (pair.second, pair.first) if order == "lat_lon" else (pair.first, pair.second)
        told = [srid for srid in (pair.srid, declared) if srid and not is_geographic(srid)]
        readings = systems.read_as(x, y, told, f"the file names EPSG:{told[0] if told else ''}", 4)
        if known:
            readings = [reading for reading in readings if systems.apart_km(reading, *known) < systems.SAME_KM]
        reading = readings[0] if readings else systems.search(x, y, known, near)
        if reading:
            # East comes before north, but in the countries whose norms turn it round.
            home = 2.0 * systems.suits_home(*reading.middle, near)
            found.append(_Way(pair, order, reading, _trust(pair, order) + home - 0.1 * (not told)))
    return found


def _restored(pair: Pair, near: systems.Point | None) -> list[_Way]:
    """A lump of degrees as what they were before they were taken for metres."""
    found = []
    for order in ORDERS:
        lon, lat = (pair.second, pair.first) if order == "lat_lon" else (pair.first, pair.second)
        if np.nanmax(np.abs(lat)) <= 90 and (reading := systems.restored(lon, lat, near)):
            found.append(_Way(pair, order, reading, _trust(pair, order) + 3.0))
    return found


def _agreed(ways: list[_Way]) -> tuple[Floats, Floats] | None:
    """The points that most ways vouch for, the trusted ones first; None where there is none."""
    if not ways:
        return None

    def votes(way: _Way) -> tuple[float, float, int]:
        agree = {o.pair.headings for o in ways if systems.apart_km(way.reading, o.reading.lon, o.reading.lat) < 0.25}
        return len(agree), way.trust, way.reading.rank

    best = max(ways, key=votes)
    return best.reading.lon, best.reading.lat


def _score(way: _Way, known: tuple[Floats, Floats] | None) -> tuple[float, ...]:
    """What makes one way better than another, the weightiest first."""
    agrees = known is None or systems.apart_km(way.reading, *known) < systems.SAME_KM
    filled = float(np.isfinite(way.reading.lon).mean())
    degrees, columns = way.reading.srid == 4326, len(way.pair.headings) == 2
    rank = way.reading.rank
    return agrees, round(filled, 2), rank >= 3, degrees, way.trust, rank, columns, -way.reading.srid


def _placing(best: _Way, ways: list[_Way], lumps: list[Pair], good: list[Pair], declared: str) -> Placing:
    reading, headings = best.reading, best.pair.headings
    lon, lat = reading.middle
    vouch = sorted({
        " and ".join(way.pair.headings) for way in ways
        if way.pair is not best.pair and systems.apart_km(reading, way.reading.lon, way.reading.lat) < 0.25
    })  # fmt: skip
    told = f"the points lie about latitude {lat:.4f}, longitude {lon:.4f}"
    told += f"; {reading.why}" if reading.why else ""
    told += f"; {', '.join(map(repr, vouch))} say the same" if vouch else ""
    turned = best.pair.says and best.order != best.pair.says
    told += "; the axes stand the other way round than headings or form say" if turned else ""
    sure = 0.6 if reading.others else 0.8 if turned and not vouch else 0.95 if best.pair.says or vouch else 0.85
    doubts = [*_doubts(best, lumps, declared)]
    remarks = [(heading, _lump(pair)) for pair in lumps for heading in pair.headings]
    remarks += [
        (heading, f"coordinates too; {' and '.join(headings)} are taken")
        for pair in good for heading in pair.headings if heading not in headings
    ]  # fmt: skip
    return Placing(_roles(best, told, sure), reading.srid, tuple(doubts), tuple(remarks), reading.taken_for)


def _roles(best: _Way, told: str, sure: float) -> dict[str, Opinion]:
    if len(best.pair.headings) == 1:
        return {best.pair.headings[0]: Opinion("point", sure, told, format=best.order)}
    names = ("latitude", "longitude") if is_geographic(best.reading.srid) else ("northing", "easting")
    ordered = names if best.order == "lat_lon" else names[::-1]
    return {heading: Opinion(role, sure, told) for heading, role in zip(best.pair.headings, ordered, strict=True)}


def _doubts(best: _Way, lumps: list[Pair], declared: str) -> list[str]:
    srid, found = best.reading.srid, []
    if best.reading.taken_for and best.reading.others:
        found.append(f"the degrees may also have been metres of {', '.join(map(str, best.reading.others[:8]))}")
    elif best.reading.others:
        others = ", ".join(f"EPSG:{other}" for other in best.reading.others[:8])
        found.append(f"the coordinates name no system; taken for EPSG:{srid}, but {others} would do: set file.crs")
    says = systems.named(declared) if declared else None
    if (
        len(best.pair.headings) == 1
        and declared
        and says != srid
        and not (says and is_geographic(says) and srid == 4326)
    ):
        found.append(f"the file declares {declared!r}, but its points fall on a city as EPSG:{srid}")
    if best.reading.taken_for:
        return [*found, f"{' and '.join(best.pair.headings)!r}: {_lump(best.pair)}; {best.reading.why}"]
    found += [f"{pair.headings[0]!r}: {_lump(pair)}" for pair in lumps]
    return found


def _lump(pair: Pair) -> str:
    x, y = float(np.nanmedian(pair.first)), float(np.nanmedian(pair.second))
    return f"all points lie at {x:.4f}, {y:.4f}: no places of trees (degrees taken for metres, or one point for all)"
