"""All evidence together: findings as before, mechanics beside them, the worse stands; wrong requests."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods import evidence, likelihood
from assessments.methods.findings import KINDS, Finding, TreeFacts, example
from assessments.methods.mechanics import Climate, Mechanics, judge
from assessments.methods.problems import MethodProblem
from assessments.methods.risk import FAILURE
from assessments.methods.stem_load import check
from assessments.methods.stem_load.contract import read
from tests.assessments.methods.test_mechanics import LIME, hollow

TREE = TreeFacts(dbh_cm=60, height_m=25, conifer=False)
LISTS = st.lists(st.sampled_from(sorted(KINDS)).map(example), max_size=4)


def load(climate: Climate | None, loss: float = 30) -> Mechanics:
    tree = read(LIME | {"sections": hollow(loss)})
    return judge(tree, check(tree), climate)


CALM, STORMY = load(Climate(10.0, 15.0)), load(Climate(60.0, 70.0), loss=90)


@given(LISTS)
def test_findings_alone_give_what_they_gave_before(findings: list[Finding]) -> None:
    found = evidence.suggest(findings, TREE)
    assert found.findings == likelihood.suggest(findings, TREE)
    assert (found.category, found.basis) == (found.findings.category, found.findings.basis)


@given(LISTS, st.sampled_from([CALM, STORMY]))
@settings(deadline=None)
def test_the_worse_of_both_stands_and_imminent_comes_from_signs_alone(
    findings: list[Finding], mechanics: Mechanics
) -> None:
    found, alone = evidence.suggest(findings, TREE, mechanics), likelihood.suggest(findings, TREE)
    assert FAILURE.index(found.category) >= FAILURE.index(mechanics.category)
    if findings:
        assert found.category in (mechanics.category, alone.category)
    assert (found.category == "imminent") == (bool(findings) and alone.category == "imminent")


def test_mechanics_count_alone_where_nothing_was_found() -> None:
    found = evidence.suggest([], TREE, STORMY)
    assert (found.category, found.basis) == ("probable", "mechanics")
    assert found.sharpen == STORMY.sharpen


def test_without_a_climate_the_findings_stand_and_the_need_is_told() -> None:
    found = evidence.suggest([example("crack")], TREE, load(None))
    assert found.basis == "findings"
    assert any("needs the gust climate of the site" in reason for reason in found.reasons)


def test_a_contradiction_is_told() -> None:
    found = evidence.suggest([example("lean")], TREE, STORMY)
    assert any("the worse one stands" in reason for reason in found.reasons)


def test_the_request_is_answered_in_words_with_the_evidence() -> None:
    climate = {"one_year_m_s": 60, "fifty_year_m_s": 70}
    found = evidence.compute({"stem_load": LIME | {"sections": hollow(90)}, "gust_climate": climate})
    assert found["likelihood_of_failure"] == "probable"
    assert found["mechanics"]["measured"] is True
    assert found["sharpen"]


LEAN = {"kind": "lean", "part": "stem", "measures": {"type": "natural", "angle_deg": 10}}
WRONG: list[tuple[dict[str, Any], str]] = [
    ({"findings": [LEAN | {"kind": []}]}, "/findings/0/kind"),
    ({"findings": [LEAN | {"kind": "unheard"}]}, "/findings/0/kind"),
    ({"findings": [LEAN | {"part": {}}]}, "/findings/0/part"),
    ({"findings": [LEAN | {"measures": {"angle_deg": [1]}}]}, "/findings/0/measures/angle_deg"),
    ({"findings": [LEAN | {"measures": {"type": "natural", "angle_deg": 95}}]}, "/findings/0/measures/angle_deg"),
    ({"findings": [LEAN | {"measures": {"type": "natural", "angle_deg": math.nan}}]}, "/findings/0/measures/angle_deg"),
    ({"findings": [LEAN | {"measures": 3}]}, "/findings/0/measures"),
    ({"findings": [LEAN] * 100_000}, "/findings"),
    ({"gust_climate": {"one_year_m_s": 30}}, "/gust_climate/fifty_year_m_s"),
    ({"gust_climate": {"one_year_m_s": 30, "fifty_year_m_s": 20}}, "/gust_climate/fifty_year_m_s"),
    ({"stem_load": LIME | {"height_m": -1}}, "/stem_load/height_m"),
    ({"stem_load": 3}, "/stem_load"),
    ({"tree": {"dbh_cm": 0}}, "/tree/dbh_cm"),
    ({"gusts": 1}, "/gusts"),
]


@pytest.mark.parametrize(("fields", "pointer"), WRONG)
def test_a_wrong_field_is_named(fields: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        evidence.compute(fields)
    assert caught.value.fields[0].pointer == pointer
