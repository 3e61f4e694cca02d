"""Suggestions from findings: worst first, imminent only where failure has begun, gaps named."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods import defect_rules, tables
from assessments.methods.findings import KINDS, Finding, TreeFacts, example
from assessments.methods.likelihood import suggest
from assessments.methods.risk import FAILURE

TREE = TreeFacts(dbh_cm=60, height_m=25, conifer=False)


def of(kind: str, part: str, height_m: float | None = None, **measures: Any) -> Finding:
    return Finding(kind, part, height_m=height_m, measures=measures)


CRACK = of("crack", "stem", type="longitudinal")
DECAY = of("decay", "stem", indicator="hollow_sound", extent="extensive")


def test_without_findings_the_general_rate_is_the_basis_and_is_said() -> None:
    nothing = suggest([], TREE)
    assert (nothing.category, nothing.basis, nothing.by_part) == ("improbable", "general_rate", ())
    assert "general rate" in nothing.reasons[0].text
    assert nothing.reasons[0].source == "project's choice"


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_gets_a_class_with_a_reason_and_a_source(kind: str) -> None:
    required = {name: m.example for name, m in KINDS[kind].measures.items() if m.required}
    for measures in (example(kind).measures, required):
        suggestion = suggest([replace(example(kind), measures=measures)], TREE)
        one = suggestion.by_finding[0]
        assert 1 <= one.defect_class <= 4
        assert all(reason.text and reason.source for reason in one.reasons)
        assert suggestion.basis == "findings"


@pytest.mark.parametrize(
    "findings",
    [
        [of("crack", "stem", type="longitudinal", parted=True)],
        [of("previous_split", "union", parted=True)],
        [of("broken_branch", "branch", state="hanging", diameter_cm=4)],
        [of("broken_branch", "branch", state="attached", diameter_cm=4)],
        [of("root_plate_lift", "root_collar", recent=True, soil_crack=True)],
        [of("lean", "stem", type="recent", angle_deg=20, root_breakage=True)],
        [
            of("lean", "stem", type="recent", angle_deg=20),
            of("root_plate_lift", "root_collar", recent=True),
        ],
    ],
)
def test_signs_that_failure_has_begun_suggest_imminent(findings: list[Finding]) -> None:
    suggestion = suggest(findings, TREE)
    assert suggestion.category == "imminent"
    assert suggestion.reasons[0].begun


def test_the_worst_class_without_such_a_sign_is_probable_not_imminent() -> None:
    dead = suggest([CRACK, DECAY], replace(TREE, dead=True))
    assert dead.by_finding[-1].defect_class == 4
    assert dead.category == "probable"


def test_imminent_is_suggested_only_with_a_reason_that_says_failure_has_begun() -> None:
    for rule in defect_rules.RULES:
        assert rule.begun is False or rule.defect_class >= 3
    categories = {row["category"] for row in tables.read("class_likelihood")}
    assert "imminent" not in categories


def test_the_tree_has_the_worst_of_its_parts_and_each_part_the_worst_of_its_findings() -> None:
    branch = of("broken_branch", "branch", 9.0, state="lodged", diameter_cm=6)
    suggestion = suggest([CRACK, example("seam"), branch], TREE)
    assert suggestion.category == "imminent"
    assert suggestion.by_part == (("branch", "imminent"), ("stem", "possible"))
    assert [one.place for one in suggestion.by_finding] == [0, 1, 2]


def test_findings_far_apart_on_the_stem_do_not_combine() -> None:
    low, near, far = (replace(CRACK, height_m=height) for height in (1.0, 1.9, 9.0))
    decay = replace(DECAY, height_m=1.0)
    assert suggest([near, decay], TREE).by_finding[0].defect_class == 3
    assert suggest([low, decay], TREE).by_finding[0].defect_class == 3
    assert suggest([far, decay], TREE).by_finding[0].defect_class == 2


def test_a_long_crack_reaches_a_cavity_far_from_its_middle() -> None:
    crack = of("crack", "stem", 5.0, type="longitudinal", length_cm=700)
    assert suggest([crack, replace(DECAY, height_m=1.0)], TREE).by_finding[0].defect_class == 3


def test_findings_of_unknown_height_on_one_part_are_taken_together() -> None:
    assert suggest([CRACK, replace(DECAY, height_m=8.0)], TREE).by_finding[0].defect_class == 3


def test_a_finding_on_a_branch_does_not_combine_with_the_root() -> None:
    crack = of("crack", "branch", type="shear")
    roots = of("root_loss", "root", cause="cut", roots_percent=60)
    assert suggest([roots, crack], TREE).by_finding[0].defect_class == 3


def test_the_wall_of_the_stem_is_judged_against_dbh_where_the_part_was_not_measured() -> None:
    cavity = of("cavity", "stem", depth_cm=20, shell_cm=9)
    assert suggest([cavity], TREE).category == "probable"
    unknown = suggest([cavity])
    assert unknown.category == "possible"
    assert unknown.missing is not None
    assert unknown.missing.field == "part_diameter_cm"


def test_a_published_worked_case_of_a_stem_of_30_inches_with_a_wall_of_4_inches_is_class_3() -> None:
    # dbh 30 in needs 5.00 in by the rule of 1 in per 6 in.
    cavity = of("cavity", "stem", depth_cm=20, shell_cm=4.0 * 2.54)
    assert suggest([cavity], TreeFacts(dbh_cm=30 * 2.54)).by_finding[0].defect_class == 3


def test_a_width_of_opening_stands_in_for_its_share() -> None:
    # 63 cm of a circumference of 188 cm is just over a third.
    wide = of("cavity", "stem", opening_width_cm=63)
    assert suggest([wide], TREE).by_finding[0].defect_class == 3
    assert suggest([replace(wide, measures={"opening_width_cm": 62})], TREE).by_finding[0].defect_class == 2


@pytest.mark.parametrize("kind", [kind for kind, entry in KINDS.items() if entry.sharpened_by])
def test_the_most_telling_measure_is_named_where_it_is_missing(kind: str) -> None:
    telling = KINDS[kind].sharpened_by
    measures = {name: value for name, value in example(kind).measures.items() if name != telling}
    missing = suggest([replace(example(kind), measures=measures)], TREE).missing
    assert missing is not None
    assert (missing.place, missing.field) == (0, f"measures.{telling}")
    assert suggest([example(kind)], TREE).missing is None


def test_the_gap_of_the_worst_finding_is_named_first() -> None:
    wound = of("wound", "stem", 1.0, cause="mower")
    canker = of("decay", "root_collar", 0.1, indicator="probe", extent="extensive")
    missing = suggest([wound, canker], TREE).missing
    assert missing is not None
    assert (missing.place, missing.field) == (1, "measures.shell_cm")


def test_the_group_of_the_tree_is_asked_for_only_where_it_decides() -> None:
    for percent, asked in ((30, False), (40, True), (60, False)):
        missing = suggest([of("storm_damage", "crown", crown_lost_percent=percent)]).missing
        assert (missing is not None and missing.field == "tree.conifer") is asked


@given(st.lists(st.sampled_from([example(kind) for kind in KINDS]), max_size=5))
def test_one_more_finding_never_lowers_the_suggestion(findings: list[Finding]) -> None:
    ranks = [FAILURE.index(suggest(findings[:count], TREE).category) for count in range(len(findings) + 1)]
    assert ranks == sorted(ranks)


@given(st.permutations([example(kind) for kind in KINDS]))
def test_the_order_of_findings_does_not_matter(findings: list[Finding]) -> None:
    ordered = suggest([example(kind) for kind in KINDS], TREE)
    shuffled = suggest(findings, TREE)
    assert shuffled.category == ordered.category
    assert dict(shuffled.by_part) == dict(ordered.by_part)
