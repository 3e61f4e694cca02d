"""Finds the column of stem sizes where no heading names it: species of larger stems have larger values in it."""

from collections.abc import Sequence
from functools import cache

import numpy as np

from inventory import catalogue
from inventory.intake.cells import number
from inventory.intake.names import Catalogue
from inventory.intake.roles import CM
from inventory.intake.sizes import DBH_CM, believable
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# The project's choice: so many species of so many trees each, and so close a relation, before it is believed.
SPECIES, TREES, CLOSE = 8, 8, 0.45
ROWS = 5_000


@cache
def _largest() -> dict[str, float]:
    return {row.botanical_name: row.max_dbh_cm for row in catalogue.read_species()}


def stem(
    species: list[str], columns: Sequence[tuple[str, str, list[str]]], names: Catalogue
) -> tuple[str, Opinion] | None:
    """The one of these columns (heading, decimal sign, cells) that is most like stem sizes, with its opinion."""
    step = max(1, len(species) // ROWS)
    largest = _largest_of(species[::step], names)
    best: tuple[float, str, Floats] | None = None
    for heading, decimal, cells in columns:
        values = np.array([number(cell, decimal) for cell in cells[::step]], float)
        close = _relation(species[::step], largest, values)
        if close >= CLOSE and (best is None or close > best[0]):
            best = close, heading, values
    return (best[1], _opinion(best[0], best[2])) if best else None


def relation(species: list[str], names: Catalogue, values: Floats) -> float | None:
    """How closely values grow with the largest stems of the species (-1 to 1); None where too few species tell."""
    largest = _largest_of(species, names)
    known = np.isfinite(values) & (values > 0) & np.isfinite(largest)
    _, counts = np.unique(np.array(species)[known], return_counts=True)
    return _relation(species, largest, values) if (counts >= TREES).sum() >= SPECIES else None


def _largest_of(species: list[str], names: Catalogue) -> Floats:
    match = names.match_many(species)
    return np.array([_largest().get(match[text].botanical_name or "", np.nan) for text in species])


def _relation(species: list[str], largest: Floats, values: Floats) -> float:
    """The correlation over species of their middle value and their largest stem, both as logarithms; 0 for no sizes."""
    known = np.isfinite(values) & (values > 0) & np.isfinite(largest)
    if np.isinf(values).mean() > 0.05 or known.sum() < SPECIES * TREES or np.ptp(values[known]) == 0:
        return 0.0
    # Stems of a city are many sizes, more thin ones than thick ones, and none is a hundred times the middle one.
    kinds = len(np.unique(values[known]))
    middle, top = np.percentile(values[known], [50, 99])
    if kinds < 12 or not 1.8 < top / middle < 30 or values[known].max() > 100 * middle:
        return 0.0
    _, place, counts = np.unique(np.array(species)[known], return_inverse=True, return_counts=True)
    often = np.flatnonzero(counts >= TREES)
    if len(often) < SPECIES:
        return 0.0
    pairs = np.array([[np.median(values[known][place == at]), largest[known][place == at][0]] for at in often])
    if (np.ptp(pairs, axis=0) == 0).any():
        return 0.0
    return float(np.corrcoef(np.log(pairs).T)[0, 1])


def _opinion(close: float, values: Floats) -> Opinion:
    known = values[np.isfinite(values) & (values > 0)]
    middle, top = (float(value) for value in np.percentile(known, [50, 99]))
    unit, why, rival = believable(middle, top, CM, DBH_CM)
    evidence = f"no heading says so, but species of larger stems have larger values (correlation {close:.2f}); {why}"
    return Opinion("dbh", 0.6, evidence, unit, rival=rival)
