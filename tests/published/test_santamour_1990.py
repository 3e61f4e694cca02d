"""Santamour 1990: at most 10 % of a species, 20 % of a genus, 30 % of a family; a rule of thumb stated without data.

Shannon and Simpson by their textbook formulas, worked by hand for five species of 1,000 trees.
"""

import math

import pytest

from assessments.methods.population import Population, diversity, stocking

COUNTS = {"a": 400, "b": 250, "c": 150, "d": 100, "e": 100}


def test_three_of_five_species_exceed_a_tenth_and_exactly_a_tenth_passes() -> None:
    assert Population(1000, COUNTS, {}, {}).exceeding("species") == ("a", "b", "c")


def test_a_fifth_of_a_genus_and_three_tenths_of_a_family_pass() -> None:
    stands = Population(1000, {}, {"Acer": 200, "Tilia": 201}, {"Rosaceae": 300, "Fagaceae": 301})
    assert stands.exceeding("genus") == ("Tilia",)
    assert stands.exceeding("family") == ("Fagaceae",)


def test_shannon_and_simpson_of_the_worked_counts() -> None:
    found = diversity(list(COUNTS.values()))
    assert found.shannon_nats == pytest.approx(1.45817, abs=5e-6)
    assert found.shannon_nats / math.log(2) == pytest.approx(2.10370, abs=5e-6)
    assert found.effective == pytest.approx(4.2981, abs=5e-5)
    assert found.evenness == pytest.approx(0.90602, abs=5e-6)
    assert found.simpson == pytest.approx(0.2650, abs=1e-12)
    assert found.inverse_simpson == pytest.approx(3.77358, abs=5e-6)
    assert found.simpson_unbiased == pytest.approx(0.264264, abs=5e-7)


def test_stocking_of_850_trees_and_150_vacant_sites() -> None:
    assert stocking(850, 150) == pytest.approx(0.85)
