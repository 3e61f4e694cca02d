"""A file against this inventory: whether its trees lie where the metric system is valid, and which it holds already."""

import math
from typing import Any

import numpy as np
from django.conf import settings
from django.db import connection

from inventory.geo import fit
from inventory.intake.facts import Facts
from inventory.intake.mapping import Mapping
from inventory.intake.table import Bools
from inventory.models import Site, Tree
from inventory.problems import Invalid
from inventory.statements import statement

KEYS_AT_ONCE = 50_000
# What of a row is compared with what stands in the inventory, in the order of the query.
NUMBERS = ("dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m")


def require_metric_fit(facts: Facts) -> None:
    """Refuse a file whose trees lie where distances in the metric system are wrong. Raises Invalid."""
    rows = np.flatnonzero(facts.placed & np.isnan(facts.alone_km))
    if not len(rows):
        return
    lon = float(np.median(facts.table.numbers["lon"][rows]))
    lat = float(np.median(facts.table.numbers["lat"][rows]))
    lengths = fit.lengths_km(lon, lat)
    if lengths is None or any(abs(length - 1) > fit.MOST_DISTORTED for length in lengths):
        raise Invalid.field("#/file", _misfit(lon, lat, lengths))


def require_day(mapping: Mapping, facts: Facts) -> None:
    """Refuse a file of a day to come: its sizes would be newer than all that is ever measured. Raises Invalid."""
    if mapping.measured_on and mapping.measured_on > facts.today:
        raise Invalid.field("#/file/measured_on", f"{mapping.measured_on} is after today")


def _misfit(lon: float, lat: float, lengths: tuple[float, float] | None) -> str:
    srid = settings.METRIC_SRID
    utm = (32601 if lat >= 0 else 32701) + min(59, int((lon + 180) // 6))
    off = f"a kilometre there is {lengths[0]:.2f} km north and {lengths[1]:.2f} km east" if lengths else ""
    if 32601 <= srid <= 32660 or 32701 <= srid <= 32760:
        middle = -183 + 6 * (srid % 100)
        beyond = max(0.0, abs((lon - middle + 180) % 360 - 180) - 3)
        off = f"that is {beyond * 111.3 * math.cos(math.radians(lat)):,.0f} km outside it"
    return (
        f"the trees lie about latitude {lat:.3f}, longitude {lon:.3f}, where EPSG:{srid} is not valid"
        f"{f' ({off})' if off else ''}: set METRIC_SRID (EPSG:{utm} would fit) before the first migrate"
    )


def middle() -> tuple[float, float] | None:
    """About where the trees of the inventory stand (longitude, latitude), from the first thousand; None without any."""
    points = [point for point in Tree.objects.order_by("id").values_list("location", flat=True)[:1_000] if point]
    if not points:
        return None
    return float(np.median([point.x for point in points])), float(np.median([point.y for point in points]))


def compare(facts: Facts) -> tuple[Bools, Bools]:
    """The rows whose key is in the inventory with the same values, and those whose key is there with others."""
    same, other = np.zeros(len(facts.table), bool), np.zeros(len(facts.table), bool)
    key = facts.table.texts["key"]
    keys = [value for value in key.values if value]
    if not keys or not _any_keys():
        return same, other
    row_of = _first_rows(facts)
    for start in range(0, len(keys), KEYS_AT_ONCE):
        with connection.cursor() as cursor:
            cursor.execute(statement("inventory", "intake_known"), {"keys": keys[start : start + KEYS_AT_ONCE]})
            for name, *values in cursor.fetchall():
                row = row_of[name]
                (same if _equal(_values(facts, row), values) else other)[row] = True
    # A key of a tree and of a site: one of the two is another thing.
    return same & ~other, other


def _any_keys() -> bool:
    return any(model.objects.exclude(external_key=None).exists() for model in (Tree, Site))


def _first_rows(facts: Facts) -> dict[str, int]:
    codes = facts.table.texts["key"].codes
    first = dict(zip(codes[::-1].tolist(), range(len(codes) - 1, -1, -1), strict=True))
    return {facts.table.texts["key"].values[code]: row for code, row in first.items()}


def _values(facts: Facts, row: int) -> list[Any]:
    """A row as the query would give it back once loaded."""
    table = facts.table
    vacant = facts.state.at(row) == "vacant"
    planted = [_ordinal(table.days[name][row]) for name in ("planted_from", "planted_to")]
    sizes = [_known(table.numbers[name][row]) for name in NUMBERS]
    if not facts.standing[row]:
        sizes = [None] * len(NUMBERS)
    return [
        float(table.numbers["lon"][row]),
        float(table.numbers["lat"][row]),
        "" if vacant else table.texts["species"].at(row),
        facts.state.at(row),
        *sizes,
        *([None, None] if vacant else planted),
        *(table.texts[name].at(row) for name in ("street", "number", "place")),
    ]


def _known(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def _ordinal(day: int) -> int | None:
    return None if day < 0 else int(day)


def _equal(ours: list[Any], theirs: list[Any]) -> bool:
    for one, two in zip(ours, theirs, strict=True):
        two = two.toordinal() if hasattr(two, "toordinal") else two
        close = isinstance(one, float) and isinstance(two, float) and math.isclose(one, two, abs_tol=1e-9)
        if one != two and not close:
            return False
    return True
