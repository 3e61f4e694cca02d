"""Comparison: dominated options and why; nothing is selected."""

from dataclasses import fields, replace
from typing import Any

import pytest

from assessments.methods.options import Choice, Own, build, compare, compared_as_json, propose
from assessments.methods.options.compare import Compared, Measures, dominates, measures
from tests.support.option_case import case


def test_the_dearer_of_two_equal_options_is_dominated_and_says_by_how_much() -> None:
    cheap, dear = (build(case(), Choice("restrict_target", own=Own(cost_now=cost))) for cost in (100.0, 400.0))
    first, second = compare((cheap, dear))
    assert (first.dominated_by, first.reasons) == ((), ())
    assert second.dominated_by == (0,)
    assert second.reasons == (
        "Restrict the target costs 300 EUR less over 20 years, and is no worse by any other measure.",
    )


def test_two_options_alike_by_every_measure_dominate_neither() -> None:
    one = build(case(), Choice("restrict_target"))
    assert [found.dominated_by for found in compare((one, one))] == [(), ()]


def test_an_option_that_is_cheaper_but_leaves_more_risk_is_not_dominated() -> None:
    found = {one.option.kind: one for one in compare(propose(case()))}
    assert found["retain_and_monitor"].dominated_by == ()
    assert found["remove_and_replant"].dominated_by == ()


def test_a_diagnosis_is_never_dominated_nor_dominates() -> None:
    options = (build(case(), Choice("advanced_diagnosis")), build(case(), Choice("retain_and_monitor")))
    assert [one.dominated_by for one in compare(options)] == [(), ()]


def test_dominance_holds_by_every_measure_for_each_pair_it_names() -> None:
    found = compare(propose(case()))
    assert any(one.dominated_by for one in found)
    for one in found:
        assert len(one.reasons) == len(one.dominated_by)
        for place in one.dominated_by:
            assert dominates(found[place].measures, one.measures)
            assert not dominates(one.measures, found[place].measures)


def test_a_measure_known_of_one_alone_compares_nothing() -> None:
    known = measures(build(case(), Choice("restrict_target")))
    assert not dominates(replace(known, present=0.0), replace(known, value_lost=None))
    assert dominates(replace(known, present=0.0, value_lost=None), replace(known, value_lost=None))


@pytest.mark.parametrize("name", [one.name for one in fields(Measures)])
def test_less_of_any_one_measure_is_enough(name: str) -> None:
    worse = Measures(100.0, 1e-6, 1e-5, 1e-4, "high", 50.0, 900.0)
    less: dict[str, Any] = {name: "low" if name == "risk" else getattr(worse, name) / 2}
    better = replace(worse, **less)
    assert dominates(better, worse)
    assert not dominates(worse, better)


def test_options_of_different_horizons_are_not_compared() -> None:
    one = case()
    short = replace(one, assumptions=replace(one.assumptions, horizon_years=5))
    with pytest.raises(ValueError, match="horizon"):
        compare((build(one, Choice("restrict_target")), build(short, Choice("restrict_target"))))


def test_no_option_is_marked_as_chosen() -> None:
    assert not {"selected", "chosen", "recommended", "best"} & {one.name for one in fields(Compared)}
    for row in compared_as_json(propose(case())):
        assert not {"selected", "chosen", "recommended", "best"} & set(row)
