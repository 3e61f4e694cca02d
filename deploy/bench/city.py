"""An invented city of any size, the same for the same seed: as arrays, as a city's file, as rows in the tables."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

# The open Atlantic, as in the demo city; metric SRID 32626.
SRID = 32626
LON, LAT = -29.5, 45.0
M_PER_DEG_LAT = 111_130.0
M_PER_DEG_LON = 78_850.0
SPECIES = (
    "Acer platanoides", "Acer pseudoplatanus", "Acer rubrum", "Aesculus hippocastanum", "Betula pendula",
    "Carpinus betulus", "Fraxinus excelsior", "Ginkgo biloba", "Gleditsia triacanthos", "Platanus x hispanica",
    "Prunus serrulata", "Quercus robur", "Quercus rubra", "Robinia pseudoacacia", "Tilia cordata",
    "Tilia x europaea", "Ulmus glabra", "Zelkova serrata",
)  # fmt: skip
BLOCK = 50_000


@dataclass(frozen=True)
class City:
    """N trees: degrees, cm, metres, ordinals of `datetime.date`."""

    longitude: NDArray[np.float64]
    latitude: NDArray[np.float64]
    species: NDArray[np.int64]
    dbh_cm: NDArray[np.float64]
    height_m: NDArray[np.float64]
    planted: NDArray[np.int64]
    street: NDArray[np.int64]


def invent(count: int, seed: int = 20261125) -> City:
    """Invent a city whose area grows with its trees (about 1,000 trees a square kilometre)."""
    rng = np.random.default_rng(seed)
    side_m = max(1000.0, np.sqrt(count / 1000.0) * 1000.0)
    # Skewed shares: the commonest species has about a fifth of the trees.
    weights = 1.0 / np.arange(1, len(SPECIES) + 1) ** 0.8
    dbh_cm = np.clip(rng.lognormal(3.2, 0.65, count), 2, 150)
    return City(
        longitude=LON + rng.uniform(-0.5, 0.5, count) * side_m / M_PER_DEG_LON,
        latitude=LAT + rng.uniform(-0.5, 0.5, count) * side_m / M_PER_DEG_LAT,
        species=rng.choice(len(SPECIES), count, p=weights / weights.sum()),
        dbh_cm=dbh_cm.round(1),
        height_m=np.clip(2.2 * dbh_cm**0.5 + rng.normal(0, 1.5, count), 1.5, 38).round(1),
        planted=rng.integers(715_000, 739_000, count),
        street=rng.integers(1, max(2, count // 60), count),
    )


def write_csv(path: Path, count: int, seed: int = 20261125) -> City:
    """Write the city as a city's own file: inches, feet, and about one row in a hundred with something wrong."""
    city = invent(count, seed)
    heading = ["tree_no", "botanical_name", "dbh_in", "height_ft", "planted", "address", "site", "lat", "lon"]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(heading)
        writer.writerows(_cells(city))
    return city


def _cells(city: City) -> Iterator[list[object]]:
    sites = ("Sidewalk: Cutout", "Median: Strip", "Park: Lawn", "Front Yard")
    days = np.datetime_as_string((city.planted - 719_163).astype("datetime64[D]"))
    inches = (city.dbh_cm / 2.54).round(1)
    feet = (city.height_m / 0.3048).round()
    for i in range(len(city.dbh_cm)):
        fault = i % 100
        yield [
            f"T{i + 1}",
            "Unknown tree" if fault == 17 else SPECIES[city.species[i]],
            0 if fault == 33 else inches[i],
            feet[i],
            days[i],
            f"{i % 180 + 1} Street {city.street[i]}",
            sites[i % 4],
            "" if fault == 71 and i % 1000 == 71 else f"{city.latitude[i]:.7f}",
            f"{city.longitude[i]:.7f}",
        ]


def plant(count: int, seed: int = 20261125) -> City:
    """Put the city straight into species, site, tree and measurement: for benchmarks that need trees, not intake.

    As the owner of the tables: the history triggers are off meanwhile. Needs Django set up on a scratch database.
    """
    from django.db import connection, transaction

    city = invent(count, seed)
    with transaction.atomic(), connection.cursor() as cursor:
        # Foreign keys are checked with each statement: no table can be altered while checks are pending.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for table in ("site", "tree", "measurement"):
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        cursor.execute(
            "INSERT INTO species (botanical_name, rank, genus, family, common_en)"
            " SELECT name, 'species', split_part(name, ' ', 1), 'invented', name FROM unnest(%s::text[]) name"
            " ON CONFLICT (botanical_name) DO NOTHING",
            [list(SPECIES)],
        )
        for start in range(0, count, BLOCK):
            cursor.execute(_PLANT, _block(city, slice(start, start + BLOCK)))
        for table in ("site", "tree", "measurement"):
            cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
    return city


def _block(city: City, rows: slice) -> dict[str, list[Any]]:
    return {
        "lon": city.longitude[rows].tolist(),
        "lat": city.latitude[rows].tolist(),
        "species": [SPECIES[code] for code in city.species[rows]],
        "dbh": city.dbh_cm[rows].tolist(),
        "height": city.height_m[rows].tolist(),
        "planted": np.datetime_as_string((city.planted[rows] - 719_163).astype("datetime64[D]")).tolist(),
        "street": city.street[rows].tolist(),
    }


_PLANT = """
WITH given AS (
  SELECT gen_random_uuid() AS key, ST_SetSRID(ST_MakePoint(g.lon, g.lat), 4326) AS location, s.id AS species_id,
    g.dbh, g.height, g.planted, 'Street ' || g.street AS street
  FROM unnest(%(lon)s::float8[], %(lat)s::float8[], %(species)s::text[], %(dbh)s::float8[],
    %(height)s::float8[], %(planted)s::date[], %(street)s::int[])
    AS g (lon, lat, species, dbh, height, planted, street)
  JOIN species s ON s.botanical_name = g.species
), places AS (
  INSERT INTO site (uid, location, street, state)
  SELECT key, location, street, 'planted' FROM given RETURNING id, uid
), trees AS (
  INSERT INTO tree (uid, site_id, species_id, location, planted_from, planted_to, dbh_cm, height_m)
  SELECT g.key, p.id, g.species_id, g.location, g.planted, g.planted, g.dbh, g.height
  FROM given g JOIN places p ON p.uid = g.key RETURNING id, dbh_cm, height_m
)
INSERT INTO measurement (tree_id, measured_on, method, dbh_cm, height_m)
SELECT id, DATE '2024-05-01', 'tape', dbh_cm, height_m FROM trees
"""
