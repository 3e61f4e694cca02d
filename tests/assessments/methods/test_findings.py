"""A walk over every kind of finding: a sensible one is accepted, each impossible one is refused by field."""

from dataclasses import replace
from typing import Any

import pytest

from assessments.methods.catalogue import Measure
from assessments.methods.findings import KINDS, PARTS, Finding, TreeFacts, check, example

TREE = TreeFacts(dbh_cm=60, height_m=25)
MEASURES = [(kind, name) for kind, entry in KINDS.items() for name in entry.measures]


def fields(finding: Finding, tree: TreeFacts = TREE) -> list[str]:
    return [problem.field for problem in check(finding, tree)]


def having(kind: str, **changes: Any) -> Finding:
    """The example of a kind with measures changed; None takes one away."""
    finding = example(kind)
    measures = {**finding.measures, **changes}
    return replace(finding, measures={name: value for name, value in measures.items() if value is not None})


def wrong_values(measure: Measure) -> list[object]:
    if measure.type == "choice":
        return ["no such word", "", 1, None]
    if measure.type == "flag":
        return ["yes", 1, None]
    assert measure.least is not None
    assert measure.most is not None
    return [measure.least - 0.5, measure.most + 0.5, float("nan"), float("inf"), 10**400, "12", True, None]


def test_the_catalogue_holds_the_kinds_that_the_trade_uses() -> None:
    assert len(KINDS) == 20
    assert {part for kind in KINDS.values() for part in kind.parts} == set(PARTS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_each_kind_is_accepted(kind: str) -> None:
    finding = example(kind)
    tree = TreeFacts(dbh_cm=60, height_m=30 if kind != "poor_taper" else 39)
    assert check(finding, tree) == []
    assert check(finding) == []
    assert finding.measures.keys() == KINDS[kind].measures.keys()


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_accepted_on_each_of_its_parts_and_on_no_other(kind: str) -> None:
    for part in PARTS:
        bare = replace(example(kind), part=part, height_m=None, part_diameter_cm=None)
        if part in KINDS[kind].parts:
            assert "part" not in fields(bare)
        else:
            assert fields(bare, TreeFacts()) == ["part"]


@pytest.mark.parametrize(("kind", "name"), MEASURES)
def test_each_measure_out_of_range_or_of_another_type_is_refused_by_name(kind: str, name: str) -> None:
    for value in wrong_values(KINDS[kind].measures[name]):
        finding = replace(example(kind), measures={**example(kind).measures, name: value})  # type: ignore[dict-item]
        assert [problem.field for problem in check(finding)] == [f"measures.{name}"], value


@pytest.mark.parametrize(
    ("kind", "name"), [pair for pair in MEASURES if KINDS[pair[0]].measures[pair[1]].type == "integer"]
)
def test_a_count_must_be_whole(kind: str, name: str) -> None:
    assert fields(having(kind, **{name: 2.5}), TreeFacts()) == [f"measures.{name}"]


@pytest.mark.parametrize(("kind", "name"), [pair for pair in MEASURES if KINDS[pair[0]].measures[pair[1]].required])
def test_each_required_measure_is_asked_for(kind: str, name: str) -> None:
    assert fields(having(kind, **{name: None}), TreeFacts()) == [f"measures.{name}"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_measure_of_another_kind_is_refused(kind: str) -> None:
    assert fields(having(kind, loudness_db=3), TreeFacts()) == ["measures.loudness_db"]


def test_an_unknown_kind_is_refused() -> None:
    assert fields(Finding("moss", "stem")) == ["kind"]


@pytest.mark.parametrize("azimuth", [-1, 360.5, float("nan"), "north", True])
def test_an_azimuth_outside_the_circle_is_refused(azimuth: Any) -> None:
    assert fields(replace(example("seam"), azimuth_deg=azimuth)) == ["azimuth_deg"]


@pytest.mark.parametrize("azimuth", [0, 360, 359.9])
def test_the_whole_circle_is_accepted(azimuth: float) -> None:
    assert fields(replace(example("seam"), azimuth_deg=azimuth)) == []


@pytest.mark.parametrize("height", [-0.1, 121, float("nan"), "high", 28])
def test_a_height_below_ground_or_above_the_tree_is_refused(height: Any) -> None:
    assert fields(replace(example("seam"), height_m=height)) == ["height_m"]


def test_a_height_within_measuring_error_of_the_top_is_accepted() -> None:
    assert fields(replace(example("dead_wood"), height_m=26.0)) == []


def test_a_root_is_not_up_in_the_air() -> None:
    assert fields(replace(example("root_loss"), height_m=0.6)) == ["height_m"]
    assert fields(replace(example("girdling_root"), part="root_collar", height_m=1.5)) == ["height_m"]


@pytest.mark.parametrize("diameter", [0, -3, 1201, float("nan"), "thick"])
def test_a_diameter_that_no_part_has_is_refused(diameter: Any) -> None:
    assert fields(replace(example("lean"), part_diameter_cm=diameter)) == ["part_diameter_cm"]


def test_a_branch_is_not_thicker_than_the_stem() -> None:
    branch = Finding("crack", "branch", 70, measures={"type": "shear"})
    assert fields(branch) == ["part_diameter_cm"]
    assert fields(replace(branch, part_diameter_cm=59)) == []
    assert fields(branch, TreeFacts()) == []


def test_the_crown_has_no_diameter_of_a_part() -> None:
    assert fields(replace(example("storm_damage"), part_diameter_cm=20)) == ["part_diameter_cm"]


def test_a_fungus_genus_needs_its_confidence() -> None:
    fungus = replace(example("fruiting_body"), fungus_genus="Ganoderma", fungus_confidence="")
    assert fields(fungus) == ["fungus_confidence"]
    assert fields(replace(fungus, fungus_confidence="sure")) == ["fungus_confidence"]
    for confidence in ("certain", "probable", "guess"):
        assert fields(replace(fungus, fungus_confidence=confidence)) == []


def test_a_confidence_without_a_genus_is_refused() -> None:
    bare = replace(example("fruiting_body"), fungus_genus="", fungus_confidence="")
    assert fields(bare) == []
    assert fields(replace(bare, fungus_confidence="guess")) == ["fungus_confidence"]


@pytest.mark.parametrize("genus", ["ganoderma", "Ganoderma applanatum", "G4noderma", "<b>"])
def test_a_genus_is_one_capitalised_name(genus: str) -> None:
    assert fields(replace(example("fruiting_body"), fungus_genus=genus)) == ["fungus_genus"]


@pytest.mark.parametrize("kind", [kind for kind, entry in KINDS.items() if not entry.fungus])
def test_a_fungus_is_refused_with_a_kind_that_has_none(kind: str) -> None:
    finding = replace(example(kind), fungus_genus="Ganoderma", fungus_confidence="guess")
    assert fields(finding, TreeFacts()) == ["fungus_genus"]


@pytest.mark.parametrize(
    ("finding", "field"),
    [
        (having("cavity", depth_cm=60), "measures.depth_cm"),
        (having("cavity", shell_cm=30), "measures.shell_cm"),
        (having("cavity", opening_width_cm=160), "measures.opening_width_cm"),
        (having("wound", width_cm=160), "measures.width_cm"),
        (having("dead_wood", largest_diameter_cm=70), "measures.largest_diameter_cm"),
        (having("broken_branch", diameter_cm=70), "measures.diameter_cm"),
        (having("crack", parted=True, through=False), "measures.through"),
        (replace(having("crack", touches_soil=True), part="limb"), "measures.touches_soil"),
        (having("crack", touches_soil=True, length_cm=50), "measures.touches_soil"),
        (having("lean", type="corrected", fresh_signs=True), "measures.fresh_signs"),
        (having("lean", type="corrected", root_breakage=True), "measures.root_breakage"),
        (
            having("cavity", opening_percent=None, opening_width_cm=None, depth_cm=None),
            "measures.opening_percent",
        ),
        (having("poor_taper", slenderness=90), "measures.slenderness"),
    ],
)
def test_values_that_contradict_each_other_or_the_tree_are_refused(finding: Finding, field: str) -> None:
    assert field in fields(finding)


def test_a_crack_that_reaches_down_may_touch_the_soil() -> None:
    assert fields(having("crack", touches_soil=True, length_cm=400)) == []


def test_all_problems_of_a_finding_come_at_once() -> None:
    wrong = Finding("lean", "branch", azimuth_deg=400, height_m=-1, measures={"type": "odd", "angle_deg": 95})
    assert set(fields(wrong)) == {"part", "azimuth_deg", "height_m", "measures.type", "measures.angle_deg"}
