"""USDA NA-FR-01-96, conditions that call for prompt action.

Dead wood and cracks were seen in a copy; unions, decay, cankers, roots and architecture are from memory.
"""

from typing import Any

import pytest

from assessments.methods.findings import Finding, TreeFacts, check
from assessments.methods.likelihood import suggest

TREE = TreeFacts(dbh_cm=60, height_m=20, conifer=False)
SOURCE = "USDA NA-FR-01-96"


def of(kind: str, part: str = "stem", diameter: float | None = None, **measures: Any) -> Finding:
    return Finding(kind, part, part_diameter_cm=diameter, measures=measures)


def decay(part: str, extent: str, diameter: float | None = None) -> Finding:
    return of("decay", part, diameter, indicator="probe", extent=extent)


CRACK = of("crack", type="longitudinal")
CAVITY = of("cavity", depth_cm=10)
UNION = of("included_bark_union", "union")

PROMPT: list[tuple[str, list[Finding]]] = [
    ("broken branch lodged", [of("broken_branch", "branch", state="lodged", diameter_cm=6)]),
    ("broken top lodged", [of("broken_branch", "top", state="lodged", diameter_cm=15)]),
    ("dead branch over 10 cm", [of("dead_wood", "branch", largest_diameter_cm=10.1)]),
    ("crack through the stem", [of("crack", type="longitudinal", through=True)]),
    ("two cracks in one area", [of("crack", type="longitudinal", count=2)]),
    ("crack touching another defect", [of("crack", type="longitudinal", touches_defect=True)]),
    ("crack beside a cavity", [CRACK, CAVITY]),
    ("cracked branch over 10 cm", [of("crack", "branch", 10.1, type="longitudinal")]),
    ("weak union on the main stem", [of("included_bark_union", "union", aspect_ratio=0.9)]),
    ("weak union cracked", [UNION, of("crack", "union", type="longitudinal")]),
    ("weak union touching a cavity", [UNION, of("cavity", "union", depth_cm=10)]),
    ("advanced decay with a crack", [decay("stem", "extensive"), CRACK]),
    ("advanced decay with a weak union", [decay("stem", "extensive"), UNION]),
    ("decayed large branch", [decay("limb", "moderate", 10.1)]),
    ("sound wall below a sixth", [of("cavity", diameter=60, depth_cm=25, shell_cm=9.9)]),
    ("canker over half round", [of("canker", circumference_percent=50.1)]),
    ("canker touching", [of("canker", touches_defect=True)]),
    ("canker with a crack", [of("canker"), CRACK]),
    ("canker with a weak union", [of("canker"), UNION]),
    ("canker with a cavity", [of("canker"), CAVITY]),
    ("lean with soil movement", [of("lean", type="recent", angle_deg=15, fresh_signs=True)]),
    ("lean with a mound", [of("lean", type="natural", angle_deg=15), of("root_plate_lift", "root")]),
    ("over half of the roots cut", [of("root_loss", "root", cause="cut", roots_percent=50.1)]),
    ("advanced decay in the root flare", [decay("root_collar", "extensive")]),
    ("excessive lean", [of("lean", type="natural", angle_deg=40.1)]),
    ("limb out of proportion", [of("overextended_limb", "limb", 30, length_m=12, end_weight=True)]),
]


def published_calls(findings: list[Finding], tree: TreeFacts = TREE) -> list[str]:
    first = suggest(findings, tree).by_finding[0]
    return [reason.text for reason in first.reasons if reason.act_now and SOURCE in reason.source]


@pytest.mark.parametrize("findings", [case[1] for case in PROMPT], ids=[case[0] for case in PROMPT])
def test_each_condition_calls_for_prompt_action_and_names_its_source(findings: list[Finding]) -> None:
    assert [problem for finding in findings for problem in check(finding, TREE)] == []
    assert published_calls(findings)


def test_a_dead_tree_calls_for_prompt_action() -> None:
    assert published_calls([], TreeFacts(dbh_cm=60, dead=True))


@pytest.mark.parametrize(
    "finding",
    [
        of("dead_wood", "branch", largest_diameter_cm=10),
        CRACK,
        of("crack", "branch", 10, type="longitudinal"),
        of("included_bark_union", "union", aspect_ratio=0.5),
        decay("limb", "moderate", 10),
        of("cavity", diameter=60, depth_cm=19, shell_cm=10.1),
        of("canker", circumference_percent=50),
        of("root_loss", "root", cause="cut", roots_percent=50),
        of("lean", type="natural", angle_deg=40),
    ],
    ids=lambda finding: f"{finding.kind} on {finding.part}",
)
def test_just_below_a_limit_no_prompt_action_is_called_for(finding: Finding) -> None:
    assert check(finding, TREE) == []
    assert published_calls([finding]) == []
