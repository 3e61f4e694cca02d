"""Builds wood.csv from the public tables: `python -m assessments.methods.wood.build FOLDER` (the open data folder).

Green density = basic density x (1 + moisture); with bark = (wood + bark x f) / (1 + f), f bark volume to wood volume.
"""

import csv
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from statistics import fmean, mode
from typing import Final

from .tables import FOLDER, Row, rows_of

METHOD: Final = "wood_table"
VERSION: Final = 1

MPA_PER_PSI: Final = 0.00689476
# Regions of the density database whose trees stand in the streets of temperate cities.
REGIONS: Final = ("Europe", "NorthAmerica", "China", "Australia")
COLUMNS: Final = (
    "scientific",
    "common",
    "group",
    "biomass_group",
    "basic_kg_m3",
    "basic_source",
    "second_basic_kg_m3",
    "moisture_percent",
    "moisture_source",
    "bark_basic_kg_m3",
    "bark_moisture_percent",
    "bark_volume_percent",
    "bark_source",
    "green_kg_m3",
    "green_with_bark_kg_m3",
    "compression_mpa",
    "rupture_mpa",
    "elasticity_gpa",
    "strength_source",
)


def green_kg_m3(basic_kg_m3: float, moisture_percent: float) -> float:
    """Give green density from basic density (oven-dry mass over green volume) and moisture in % of dry mass.

    >>> round(green_kg_m3(530, 57.226))
    833
    """
    return basic_kg_m3 * (1 + moisture_percent / 100)


def with_bark_kg_m3(wood_kg_m3: float, bark_kg_m3: float, bark_volume_percent: float) -> float:
    """Give green density of wood and bark together; the bark's volume is in % of the wood's.

    >>> round(with_bark_kg_m3(833.3, 817.3, 16.0))
    831
    """
    share = bark_volume_percent / 100
    return (wood_kg_m3 + bark_kg_m3 * share) / (1 + share)


def _number(text: str, places: int = 1) -> str:
    return f"{float(text):.{places}f}".rstrip("0").rstrip(".") if text else ""


def scientific(row: Mapping[str, str]) -> str:
    """Give the botanical name of a row of the FIA table, with variety or subspecies."""
    return " ".join(row[name] for name in ("GENUS", "SPECIES", "VARIETY", "SUBSPECIES") if row[name])


def _fia(row: Row) -> Row:
    basic, bark = row["WOOD_SPGR_GREENVOL_DRYWT"], row["BARK_SPGR_GREENVOL_DRYWT"]
    return {
        "scientific": scientific(row),
        "common": row["COMMON_NAME"],
        "group": {"H": "hardwood", "S": "softwood"}.get(row["SFTWD_HRDWD"], ""),
        "biomass_group": row["JENKINS_SPGRPCD"],
        "basic_kg_m3": _number(str(float(basic) * 1000)),
        "basic_source": f"FIA/{row['WOOD_SPGR_GREENVOL_DRYWT_CIT']}",
        "moisture_percent": _number(row["MC_PCT_GREEN_WOOD"]),
        "moisture_source": f"FIA/{row['MC_PCT_GREEN_WOOD_CIT']}" if row["MC_PCT_GREEN_WOOD"] else "",
        "bark_basic_kg_m3": _number(str(float(bark) * 1000)) if bark else "",
        "bark_moisture_percent": _number(row["MC_PCT_GREEN_BARK"]),
        "bark_volume_percent": _number(row["BARK_VOL_PCT"]),
        "bark_source": f"FIA/{row['BARK_VOL_PCT_CIT']}" if row["BARK_VOL_PCT"] else "",
    }


def _densities(rows: Iterable[Row]) -> dict[str, tuple[float, bool]]:
    """Mean basic density in kg/m3 by botanical name, and whether a row comes from one of REGIONS."""
    values: dict[str, list[float]] = defaultdict(list)
    near: dict[str, bool] = defaultdict(bool)
    for row in rows:
        if row["wd"]:
            name = f"{row['genus']} {row['species']}"
            values[name].append(float(row["wd"]) * 1000)
            near[name] |= row["region"] in REGIONS
    return {name: (fmean(found), near[name]) for name, found in values.items()}


def _genera(rows: Iterable[Row]) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        found[row["scientific"].split()[0]].append(row)
    return found


def _mean(rows: Iterable[Row], column: str) -> str:
    values = [float(row[column]) for row in rows if row[column]]
    return _number(str(fmean(values))) if values else ""


def _from_density(name: str, density: float, genus: list[Row]) -> Row:
    """Make the row of a species that only the density database has, with moisture and bark of its genus."""
    first = genus[0]
    row = {
        "scientific": name,
        "common": "",
        "group": first["group"],
        "biomass_group": mode(row["biomass_group"] for row in genus),
        "basic_kg_m3": _number(str(density)),
        "basic_source": "GWD",
    }
    for column in ("moisture_percent", "bark_basic_kg_m3", "bark_moisture_percent", "bark_volume_percent"):
        row[column] = _mean(genus, column)
    row["moisture_source"] = "FIA-genus" if row["moisture_percent"] else ""
    row["bark_source"] = "FIA-genus" if row["bark_volume_percent"] else ""
    return row


def _strengths(folder: Path) -> dict[str, Row]:
    """Strength of green wood by botanical name: as seen in the handbook's table, else from memory of it."""
    found = {}
    for row in rows_of(FOLDER / "mechanics.csv"):
        psi = {name: float(row[f"{name}_psi"]) * MPA_PER_PSI for name in ("compression", "rupture")}
        found[row["scientific"]] = {
            "compression_mpa": f"{psi['compression']:.1f}",
            "rupture_mpa": f"{psi['rupture']:.1f}",
            "elasticity_gpa": f"{float(row['elasticity_mpsi']) * 1000 * MPA_PER_PSI:.2f}",
            "strength_source": row["source"],
        }
    names = {row["species_common"]: row["scientific"] for row in rows_of(FOLDER / "handbook_names.csv")}
    for row in rows_of(folder / "wood_handbook_table_5_3a_green_27_species.csv"):
        # The two inland sources of Douglas-fir have no name of their own.
        if row["species_common"] in names:
            found[names[row["species_common"]]] = {
                "compression_mpa": _number(str(float(row["comp_parallel_kpa"]) / 1000)),
                "rupture_mpa": _number(str(float(row["mor_kpa"]) / 1000)),
                "elasticity_gpa": _number(str(float(row["moe_mpa"]) / 1000), 2),
                "strength_source": "WH-5-3a",
            }
    return found


def _with_green(row: Row) -> Row:
    if row["moisture_percent"]:
        wood = green_kg_m3(float(row["basic_kg_m3"]), float(row["moisture_percent"]))
        row["green_kg_m3"] = f"{wood:.0f}"
        if row["bark_volume_percent"] and row["bark_basic_kg_m3"] and row["bark_moisture_percent"]:
            bark = green_kg_m3(float(row["bark_basic_kg_m3"]), float(row["bark_moisture_percent"]))
            row["green_with_bark_kg_m3"] = f"{with_bark_kg_m3(wood, bark, float(row['bark_volume_percent'])):.0f}"
    return row


def build(folder: Path) -> Iterator[Row]:
    """Give the rows of wood.csv, by name, from `folder`/wood. Raises OSError where a table is absent."""
    wood = folder / "wood"
    fia = [_fia(row) for row in rows_of(wood / "FIA_REF_SPECIES.csv") if row["WOOD_SPGR_GREENVOL_DRYWT"]]
    fia = [row for row in fia if row["group"] and row["scientific"].split()[0] != "Tree"]
    densities = _densities(rows_of(wood / "global_wood_density_database_2009.csv"))
    genera, known = _genera(fia), {row["scientific"] for row in fia}
    for row in fia:
        if row["scientific"] in densities:
            row["second_basic_kg_m3"] = _number(str(densities[row["scientific"]][0]))
    more = [
        _from_density(name, density, genera[name.split()[0]])
        for name, (density, near) in densities.items()
        if near and name not in known and name.split()[0] in genera
    ]
    strengths = _strengths(wood)
    for row in sorted(fia + more, key=lambda row: row["scientific"]):
        yield _with_green(row | strengths.get(row["scientific"], {}))


def main(arguments: list[str]) -> int:
    """Write wood.csv from the open data folder named."""
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m assessments.methods.wood.build OPEN_DATA_FOLDER\n")
        return 2
    rows = list(build(Path(arguments[0])))
    with (FOLDER / "wood.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    sys.stdout.write(f"wood.csv: {len(rows)} rows\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
