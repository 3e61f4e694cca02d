"""Builds the tables of growth: `python -m assessments.methods.growth.build FOLDER` (the open data folder).

An equation whose printed digits miss its own published maximum by more than 2 % is fitted again to the raw trees of
the same data set, or left out; report.csv says so row by row.
"""

import csv
import re
import sys
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from assessments.methods.wood.tables import Row, key, rows_of

from .equations import POLYNOMIALS, POOLED, Equation, Numbers, evaluate

METHOD: Final = "growth_tables"
VERSION: Final = 1

FOLDER: Final = Path(__file__).parent
MOST_DRIFT: Final = 0.02
# A curve further above its publisher's maximum than this is not merely cut off by it: project's choice.
MOST_CAPPED: Final = 0.5
# Sum of what was observed over sum of what is predicted over its own trees: beyond it an equation is left out.
SUM_RATIO: Final = (0.5, 2.0)
# No published range begins at nothing that could be taken a logarithm of twice.
LEAST_X: Final = 0.5
FEWEST_TREES: Final = 10
KINDS: Final = {
    "dbh_from_age": ("age", "dbh"),
    "height_from_dbh": ("dbh", "tree ht"),
    "crown_from_dbh": ("dbh", "crown dia"),
    "leaf_area_from_dbh": ("dbh", "leaf area"),
}
MEASURED: Final = {
    "age": "Age", "dbh": "DBH (cm)", "tree ht": "TreeHt (m)", "crown dia": "AvgCdia (m)", "leaf area": "Leaf (m2)",
}  # fmt: skip
COLUMNS: Final = (
    "kind", "region", "species", "form", "a", "b", "c", "d", "e", "x_least", "x_most", "y_least", "y_most", "trees",
    "low", "high", "standing",
)  # fmt: skip
REPORT: Final = (
    "kind", "region", "species", "form", "published_most", "computed_most", "drift_percent", "refit_most", "done",
    "why",
)  # fmt: skip


@dataclass(frozen=True)
class Made:
    """One row of the published table: the equation that came of it (None: left out) and its line of the report."""

    equation: Equation | None
    report: Row | None


@dataclass(frozen=True)
class _Row:
    """A published row with the range of its x."""

    kind: str
    row: Row
    species: str
    x_least: float
    x_most: float

    @property
    def coefficients(self) -> tuple[float, ...]:
        return tuple(float(self.row[name] or 0) for name in "abcde")

    @property
    def y_most(self) -> float:
        return float(self.row["Apps max"])


def stripped(rows: Iterable[Row]) -> list[Row]:
    """Strip the names of columns and the cells, which the public table pads."""
    return [{name.strip(): (cell or "").strip() for name, cell in row.items()} for row in rows]


def equations(folder: Path, scatter: Mapping[str, tuple[float, float]]) -> list[Made]:
    """Make the equations of the published table from `folder`. Raises OSError where a table is absent.

    `scatter`: low and high by kind for an equation whose own trees are not among the raw ones.
    """
    trees: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for tree in stripped(rows_of(folder / "TS3_Raw_tree_data.csv")):
        trees[tree["Region"], tree["SpCode"]].append(tree)
    groups: dict[tuple[str, str], dict[tuple[str, str], Row]] = defaultdict(dict)
    for row in stripped(rows_of(folder / "TS6_Growth_coefficients.csv")):
        groups[row["Region"], row["SpCode"]][row["Independent variable"], row["Predicts component"]] = row
    made = [_made(kind, group, trees[place], scatter[kind]) for place, group in groups.items() for kind in KINDS]
    return _once([one for one in made if one is not None])


def _made(
    kind: str, group: Mapping[tuple[str, str], Row], trees: Sequence[Row], scatter: tuple[float, float]
) -> Made | None:
    row = group.get(KINDS[kind])
    if row is None:
        return None
    limits = group.get(("dbh", "age") if kind == "dbh_from_age" else ("age", "dbh"))
    if limits is None:
        why = "a palm: its equations are by height, not by dbh"
        return Made(None, _report(kind, row, "", "", "", "dropped", why))
    found = _Row(
        kind, row, key(row["Scientific Name"]), max(float(limits["Apps min"]), LEAST_X), float(limits["Apps max"])
    )
    x, y = _observed(kind, trees, found.x_least, found.x_most)
    computed = float(evaluate(row["EqName"], found.coefficients, found.x_most))
    drift = computed / found.y_most - 1
    if abs(drift) <= MOST_DRIFT and len(x) < FEWEST_TREES:
        unchecked = _equation(found, found.coefficients, "unchecked")
        return Made(replace(unchecked, low=scatter[0], high=scatter[1]), None)
    if abs(drift) <= MOST_DRIFT:
        return _judged(found, found.coefficients, "published", x, y, computed, drift)
    if row["EqName"] in POLYNOMIALS:
        return _refitted(found, trees, computed, drift)
    if 0 < drift <= MOST_CAPPED:
        return _judged(found, found.coefficients, "capped", x, y, computed, drift)
    beside = "below" if drift < 0 else "far above"
    why = f"ends {beside} its published maximum by more than its digits explain"
    return Made(None, _report(kind, row, computed, drift, "", "dropped", why))


def _observed(kind: str, trees: Sequence[Row], least: float, most: float) -> tuple[Numbers, Numbers]:
    """Give x and y of the raw trees that have both (-1 means not measured) within a range of x."""
    names = [MEASURED[name] for name in KINDS[kind]]
    pairs = [(float(tree[names[0]]), float(tree[names[1]])) for tree in trees]
    known = [(x, y) for x, y in pairs if x > 0 and y > 0 and least <= x <= most]
    both = np.asarray(known, np.float64).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def weights(model: str, x: Numbers) -> Numbers:
    """Give the weights of a published fit: 1, 1/x, 1/x^2 or 1/sqrt(x), whatever x is called.

    >>> weights("1/(dbh)^2", np.array([2.0])).tolist()
    [0.25]
    """
    power = 0.0 if model == "1" else 2.0 if "^2" in model else 0.5 if "sqrt" in model else 1.0
    return np.asarray(x**-power)


def _refitted(found: _Row, trees: Sequence[Row], computed: float, drift: float) -> Made:
    row = found.row
    x, y = _observed(found.kind, trees, 1e-9, 1e9)
    degree = POLYNOMIALS[row["EqName"]]
    if len(x) < FEWEST_TREES:
        return Made(None, _report(found.kind, row, computed, drift, "", "dropped", "too few raw trees to fit again"))
    root = np.sqrt(weights(row["Model weight"], x))
    fitted = np.linalg.lstsq(np.vander(x, degree + 1, increasing=True) * root[:, None], y * root, rcond=None)[0]
    coefficients = (*(float(f"{value:.8g}") for value in fitted), *(0.0,) * (4 - degree))
    top = float(evaluate(row["EqName"], coefficients, found.x_most))
    if abs(top / found.y_most - 1) > MOST_DRIFT:
        why = "the fit to the raw trees does not meet the published maximum either"
        return Made(None, _report(found.kind, row, computed, drift, top, "dropped", why))
    inside = (x >= found.x_least) & (x <= found.x_most)
    return _judged(found, coefficients, "refit", x[inside], y[inside], computed, drift, top)


def _judged(
    found: _Row,
    coefficients: tuple[float, ...],
    standing: str,
    x: Numbers,
    y: Numbers,
    computed: float,
    drift: float,
    refit: float | str = "",
) -> Made:
    """Hold an equation against its own trees: scatter of observed over predicted; left out where it misses them."""
    row = found.row
    if len(x) < FEWEST_TREES:
        return Made(None, _report(found.kind, row, computed, drift, refit, "dropped", "too few raw trees to check it"))
    equation = _equation(found, coefficients, standing)
    predicted = equation.at(x)
    ratio = float(y.sum() / predicted.sum())
    if not SUM_RATIO[0] <= ratio <= SUM_RATIO[1]:
        why = f"misses its own trees: what was observed sums to {ratio:.2f} of what is predicted"
        return Made(None, _report(found.kind, row, computed, drift, refit, "dropped", why))
    low, high = np.quantile(y / predicted, (0.1, 0.9))
    kept = replace(equation, low=min(float(low), 1.0), high=max(float(high), 1.0))
    if standing == "published":
        return Made(kept, None)
    why = {
        "refit": "the printed digits do not carry: fitted again, in the same form and weights, to the raw trees",
        "capped": "the publisher's own maximum holds it before its largest stem",
    }[standing]
    return Made(kept, _report(found.kind, row, computed, drift, refit, standing, why))


def _equation(found: _Row, coefficients: tuple[float, ...], standing: str) -> Equation:
    row = found.row
    return Equation(
        found.kind, row["Region"], found.species, row["EqName"], coefficients, found.x_least, found.x_most,
        max(float(row["Apps min"]), 0.0), found.y_most, int(row["n"]), 1.0, 1.0, standing,
    )  # fmt: skip


def _once(made: Sequence[Made]) -> list[Made]:
    """Keep one equation a kind, region and species: cultivars share a name, the one with most trees stands."""
    best: dict[tuple[str, str, str], Equation] = {}
    for one in made:
        if one.equation is not None:
            place = (one.equation.kind, one.equation.region, one.equation.species)
            if place not in best or one.equation.trees > best[place].trees:
                best[place] = one.equation
    kept = {id(equation) for equation in best.values()}
    return [one if one.equation is None or id(one.equation) in kept else Made(None, None) for one in made]


def _report(
    kind: str, row: Row, computed: float | str, drift: float | str, refit: float | str, done: str, why: str
) -> Row:
    return {
        "kind": kind,
        "region": row["Region"],
        "species": row["Scientific Name"],
        "form": row["EqName"],
        "published_most": row["Apps max"],
        "computed_most": f"{computed:.2f}" if isinstance(computed, float) else "",
        "drift_percent": f"{100 * drift:.1f}" if isinstance(drift, float) else "",
        "refit_most": f"{refit:.2f}" if isinstance(refit, float) else "",
        "done": done,
        "why": why,
    }


def pooled(folder: Path) -> list[Equation]:
    """Fit one equation a kind to all broadleaves and one to all conifers of the raw data: the last resort."""
    found = []
    every = stripped(rows_of(folder / "TS3_Raw_tree_data.csv"))
    for group, letter in (("broadleaf", "B"), ("conifer", "C")):
        trees = [tree for tree in every if tree["TreeType"].startswith(letter)]
        for kind in KINDS:
            x, y = _observed(kind, trees, 1.0, 1e9)
            found.append(_pooled(kind, group, x, y))
    return found


def _pooled(kind: str, group: str, x: Numbers, y: Numbers) -> Equation:
    least, most = (float(end) for end in np.quantile(x, (0.01, 0.99)))
    inside = (x >= least) & (x <= most)
    x, y = x[inside], y[inside]
    slope, intercept = np.polyfit(np.log(np.log(x + 1)), np.log(y), 1)
    coefficients = (float(f"{intercept:.6g}"), float(f"{slope:.6g}"), 0.0, 0.0, 0.0)
    low, high = (float(end) for end in np.quantile(y / evaluate(POOLED, coefficients, x), (0.1, 0.9)))
    tops = evaluate(POOLED, coefficients, [least, most])
    return Equation(
        kind, "", group, POOLED, coefficients, least, most, float(tops[0]), float(tops[1]), len(x), low, high, "pooled"
    )


_POWER: Final = re.compile(r"=\s*([\d.]+)\*\(?dbhcm\)?\^([\d.]+)\)?(?:\*\(?htm(?:et)?\)?\^(-?[\d.]+))?$")


def volumes(folder: Path) -> list[Row]:
    """Give the urban volume equations: m3 = a dbh^b height^c, and by dbh alone, with the range of dbh in cm."""
    found: dict[str, Row] = {}
    for row in stripped(rows_of(folder / "TS7_Volume_eqns_from_urban.csv")):
        match = _POWER.match(row["Equation"])
        if match is None:
            raise ValueError(f"TS7: {row['Equation']} is no power of dbh and height")
        a, b, c = match.groups()
        entry = found.setdefault(
            row["Equation Species"],
            {"equation": row["Equation Species"], "least_cm": row["DBH lower (cm)"], "most_cm": row["DBH upper (cm)"],
             "source": row["Equation Source"]},
        )  # fmt: skip
        entry |= {"a": a, "b": b, "c": c} if c else {"a_dbh": a, "b_dbh": b}
    return list(found.values())


VOLUME_COLUMNS: Final = ("equation", "least_cm", "most_cm", "a", "b", "c", "a_dbh", "b_dbh", "source")
SPECIES_COLUMNS: Final = ("species", "type", "density_kg_m3", "equation")


def species(folder: Path) -> list[Row]:
    """Give tree type, wood density and matched volume equation by species."""
    types = {
        row["SpCode"]: row["Tree Type"] for row in stripped(rows_of(folder / "TS2_Regional_species_and_counts.csv"))
    }
    known = {row["equation"] for row in volumes(folder)}
    found: dict[str, Row] = {}
    for row in stripped(rows_of(folder / "TS9_Biomass_density_factors.csv")):
        equation = row["Matched Equation Species"]
        found.setdefault(
            key(row["Scientific Name"]),
            {"species": key(row["Scientific Name"]), "type": types.get(row["SpCode"], ""),
             "density_kg_m3": row["DW Density"], "equation": equation if equation in known else ""},
        )  # fmt: skip
    return [found[name] for name in sorted(found)]


def as_row(equation: Equation) -> Row:
    """Write an equation as a row of equations.csv."""
    names = ("x_least", "x_most", "y_least", "y_most")
    return {
        "kind": equation.kind, "region": equation.region, "species": equation.species, "form": equation.form,
        **{name: f"{value:.9g}" for name, value in zip("abcde", equation.coefficients, strict=True)},
        **{name: f"{getattr(equation, name):.6g}" for name in names},
        "trees": str(equation.trees), "low": f"{equation.low:.3f}", "high": f"{equation.high:.3f}",
        "standing": equation.standing,
    }  # fmt: skip


def build(folder: Path) -> dict[str, tuple[Sequence[str], list[Row]]]:
    """Give the tables by file name, each with its columns, from `folder`/growth."""
    growth = folder / "growth"
    last = pooled(growth)
    made = equations(growth, {one.kind: (one.low, one.high) for one in last if one.species == "broadleaf"})
    rows = [as_row(one.equation) for one in made if one.equation] + [as_row(one) for one in last]
    order = sorted(rows, key=lambda row: (row["kind"], row["region"] or "~", row["species"]))
    report = sorted(
        (one.report for one in made if one.report), key=lambda row: (row["kind"], row["region"], row["species"])
    )
    return {
        "equations.csv": (COLUMNS, order),
        "report.csv": (REPORT, report),
        "volumes.csv": (VOLUME_COLUMNS, volumes(growth)),
        "species.csv": (SPECIES_COLUMNS, species(growth)),
    }


SOURCE: Final = (
    "McPherson, van Doorn and Peper 2016, Urban Tree Database, USDA Forest Service RDS-2016-0005 (updated January "
    "2020), GTR PSW-253; built by assessments.methods.growth.build"
)


def main(arguments: list[str]) -> int:
    """Write the tables from the open data folder named."""
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m assessments.methods.growth.build OPEN_DATA_FOLDER\n")
        return 2
    for name, (columns, rows) in build(Path(arguments[0])).items():
        with (FOLDER / name).open("w", encoding="utf-8", newline="") as file:
            file.write(f"# source: {SOURCE}\n")
            writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
        sys.stdout.write(f"{name}: {len(rows)} rows\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
