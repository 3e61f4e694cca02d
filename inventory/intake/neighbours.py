"""Where the trees of a file lie to each other: strays by nearest-neighbour evidence, trees on one point."""

import math

import numpy as np

from inventory.intake.table import Bools, Floats, Ints

KM_PER_DEGREE = 111.195
# A tree this far from every other and from the middle of the file is not where the file says.
ASTRAY_KM = 5.0
# Above this share the trees simply stand far apart, and distance is no evidence of an error.
MOST_ASTRAY = 0.01
FEW = 3


def distance_km(lon: Floats, lat: Floats, lon_0: float, lat_0: float) -> Floats:
    """Great-circle distance of points to one point (km), by the haversine formula on a sphere of 6,371 km."""
    half = np.radians(np.stack([lat - lat_0, lon - lon_0])) / 2
    across = np.cos(np.radians(lat)) * math.cos(math.radians(lat_0)) * np.sin(half[1]) ** 2
    return np.asarray(2 * 6371.0 * np.arcsin(np.sqrt(np.clip(np.sin(half[0]) ** 2 + across, 0, 1))))


def alone_km(lon: Floats, lat: Floats) -> Floats:
    """The distance of each stray to the nearest other tree (km), NaN for all others.

    A pair or two on a wrong point vouch for each other as little as one does: up to FEW trees together count as
    strays. A true exclave (a cemetery outside the city) holds more trees than that and stays.
    """
    found = np.full(len(lon), math.nan)
    if len(lon) < 2:
        return found
    middle = distance_km(lon, lat, float(np.median(lon)), float(np.median(lat)))
    suspects = np.flatnonzero((_crowd(lon, lat) <= FEW) & (middle > ASTRAY_KM))
    if len(suspects) > max(1.0, MOST_ASTRAY * len(lon)):
        return found
    others = np.ones(len(lon), bool)
    others[suspects] = False
    for place in suspects:
        found[place] = distance_km(lon[others], lat[others], lon[place], lat[place]).min()
    found[found <= ASTRAY_KM] = math.nan
    return found


def _crowd(lon: Floats, lat: Floats) -> Ints:
    """How many trees lie in the square of ASTRAY_KM around each and the eight squares about it."""
    north = np.floor(lat * KM_PER_DEGREE / ASTRAY_KM).astype(np.int64)
    # One scale for the whole file: a city is small enough.
    scale = KM_PER_DEGREE * max(0.01, math.cos(math.radians(float(np.median(lat)))))
    east = np.floor(lon * scale / ASTRAY_KM).astype(np.int64)
    width = 20_000
    squares, place, counts = np.unique(north * width + east, return_inverse=True, return_counts=True)
    around = np.zeros(len(squares), np.int64)
    for step in (n * width + e for n in (-1, 0, 1) for e in (-1, 0, 1)):
        at = np.minimum(np.searchsorted(squares, squares + step), len(squares) - 1)
        around += np.where(squares[at] == squares + step, counts[at], 0)
    return np.asarray(around[place])


def same_point(lon: Floats, lat: Floats) -> Ints:
    """How many trees lie on exactly the point of each."""
    points = lon + 1j * lat
    _, place, counts = np.unique(points, return_inverse=True, return_counts=True)
    return np.asarray(counts[place])


def grouped(columns: list[Floats]) -> Ints:
    """A number for each row, the same for rows that are the same in every column (NaN is as NaN)."""
    found = np.zeros(len(columns[0]), np.int64)
    for column in columns:
        if len(column) and not (column == column[0]).all():
            _, codes = np.unique(column, return_inverse=True, equal_nan=True)
            _, found = np.unique(found * (int(codes.max()) + 1) + codes, return_inverse=True)
    return found


def twins(lon: Floats, lat: Floats, kind: Ints, metres: float = 1.0) -> Bools:
    """The rows that have another of their kind within a metre, and not on the very same point."""
    found = np.zeros(len(lon), bool)
    if len(lon) < 2:
        return found
    scale = KM_PER_DEGREE * 1000
    east, north = lon * scale * math.cos(math.radians(float(np.median(lat)))), lat * scale
    # In one of four grids of two metres, each shifted by one, two points within a metre share a square.
    for shift_east, shift_north in ((0, 0), (1, 0), (0, 1), (1, 1)):
        square = np.floor((east + shift_east) / 2) * 4e7 + np.floor((north + shift_north) / 2)
        order = np.lexsort((kind, square))
        same = (square[order][1:] == square[order][:-1]) & (kind[order][1:] == kind[order][:-1])
        one, two = order[:-1][same], order[1:][same]
        apart = np.hypot(east[one] - east[two], north[one] - north[two])
        near = (apart <= metres) & (apart > 0)
        found[one[near]] = found[two[near]] = True
    return found
