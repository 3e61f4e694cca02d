"""What two records of one tree should agree in: the species, or one unknown, and a size that it could have grown to."""

from dataclasses import dataclass

import numpy as np

from inventory.intake.facts import Facts
from inventory.intake.merge.standing import Held
from inventory.intake.table import Bools, Floats, Ints
from inventory.models import Species

# Between two surveys a stem neither loses nor gains more (the project's choice: a young tree may double in ten years,
# a stem measured at another height or over another bark loses some).
LEAST_TIMES, LEAST_CM = 0.6, -5.0
MOST_TIMES, MOST_CM = 1.6, 25.0
DIFFERS, PERHAPS, SAME = 0, 1, 2


@dataclass(frozen=True)
class Traits:
    """Of each record: the taxon (-1: unknown), its genus, whether it names a species, and its diameter (cm)."""

    taxon: Ints
    genus: Ints
    species: Bools
    dbh_cm: Floats

    def taken(self, rows: Ints) -> "Traits":
        """Those of some records."""
        return Traits(self.taxon[rows], self.genus[rows], self.species[rows], self.dbh_cm[rows])


def of_rows(facts: Facts) -> Traits:
    """The traits of the rows of a file."""
    ids = np.array([-1 if taxon.species_id is None else taxon.species_id for taxon in facts.taxon], np.int64)
    numbers = facts.table.numbers
    dbh = _middle(numbers["dbh_cm"], numbers["dbh_low_cm"], numbers["dbh_high_cm"])
    return _traits(ids[facts.table.texts["species"].codes], dbh)


def of_trees(trees: Held) -> Traits:
    """The traits of the trees of the inventory."""
    numbers = trees.numbers
    dbh = _middle(numbers["dbh_cm"], numbers["dbh_low_cm"], numbers["dbh_high_cm"])
    return _traits(trees.whole["species_id"], dbh)


def _middle(value: Floats, low: Floats, high: Floats) -> Floats:
    return np.where(np.isnan(value), (low + high) / 2, value)


def _traits(ids: Ints, dbh_cm: Floats) -> Traits:
    known = list(Species.objects.values_list("id", "genus", "rank"))
    numbers = {genus: number for number, genus in enumerate(sorted({genus for _, genus, _ in known}))}
    size = max([pk for pk, _, _ in known], default=0) + 2
    genus, species = np.full(size, -1, np.int64), np.zeros(size, bool)
    for pk, name, rank in known:
        genus[pk], species[pk] = numbers[name], rank != "genus"
    # -1 is the last place of both, which stays unknown.
    return Traits(ids, genus[ids], species[ids], dbh_cm)


def agreement(one: Traits, rows: Ints, two: Traits, trees: Ints) -> Ints:
    """DIFFERS, PERHAPS (one is unknown, or named by its genus alone) or SAME, pair by pair."""
    taxon_1, taxon_2 = one.taxon[rows], two.taxon[trees]
    unknown = (taxon_1 < 0) | (taxon_2 < 0)
    by_genus = (one.genus[rows] == two.genus[trees]) & ~(one.species[rows] & two.species[trees])
    found = np.where(unknown | by_genus, PERHAPS, DIFFERS)
    return np.asarray(np.where(~unknown & (taxon_1 == taxon_2), SAME, found))


def plausible(now: Floats, before: Floats) -> Bools:
    """Whether a stem may have become so thick, or measured so thin (cm); unknown sizes deny nothing."""
    wrong = (now < LEAST_TIMES * before + LEAST_CM) | (now > MOST_TIMES * before + MOST_CM)
    return np.asarray(~wrong)


def unlikeness(now: Floats, before: Floats) -> Floats:
    """How far two sizes are apart as metres of cost: the logarithm of their ratio, times 3; 0 where one is unknown."""
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = 3 * np.abs(np.log(now / before))
    return np.where(np.isnan(apart), 0.0, np.minimum(apart, 5.0))
