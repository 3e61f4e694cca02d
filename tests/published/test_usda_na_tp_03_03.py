"""USDA NA-TP-03-03 (Pokorny 2003), classes of probability of failure, cell by cell (seen in a coding guide).

Where two printed cells leave 40 % itself open (below 40, above 40) the worse class is taken at 40.
"""

from typing import Any

import pytest

from assessments.methods.findings import Finding, TreeFacts, check
from assessments.methods.likelihood import suggest

BROADLEAF = TreeFacts(dbh_cm=60, height_m=20, conifer=False)
PINE = TreeFacts(dbh_cm=60, height_m=20, conifer=True)
DEAD = TreeFacts(dbh_cm=60, height_m=20, conifer=False, dead=True)


def of(kind: str, part: str = "stem", diameter: float | None = None, **measures: Any) -> Finding:
    return Finding(kind, part, part_diameter_cm=diameter, measures=measures)


CRACK = of("crack", type="longitudinal")
SEVERE_CRACK = of("crack", type="longitudinal", through=True)
MINOR_DECAY = of("decay", indicator="hollow_sound", extent="minor")
EXTENSIVE_DECAY = of("decay", indicator="hollow_sound", extent="extensive")
UNION = of("included_bark_union", "union")
NATURAL_LEAN = of("lean", type="natural", angle_deg=10)
FRESH_LEAN = of("lean", type="natural", angle_deg=10, fresh_signs=True)
BROKEN_ROOTS = of("lean", type="natural", angle_deg=10, root_breakage=True)
MOUND = of("root_plate_lift", "root_collar", gap_mm=20)


def cavity(shell_cm: float) -> Finding:
    return of("cavity", diameter=60, depth_cm=20, shell_cm=shell_cm)


def girdling(percent: float) -> Finding:
    return of("girdling_root", "root_collar", circumference_percent=percent)


def roots(percent: float) -> Finding:
    return of("root_loss", "root", cause="cut", roots_percent=percent)


def storm(percent: float) -> Finding:
    return of("storm_damage", "crown", crown_lost_percent=percent)


def around(kind: str, percent: float) -> Finding:
    cause: dict[str, Any] = {"cause": "unknown"} if kind == "wound" else {}
    return of(kind, circumference_percent=percent, **cause)


# Row, class, the finding judged, what stands beside it, the tree.
CELLS: list[tuple[str, int, Finding, list[Finding], TreeFacts]] = [
    ("decay minor", 1, MINOR_DECAY, [], BROADLEAF),
    ("decay within limit", 2, cavity(10.1), [], BROADLEAF),
    ("decay at limit", 3, cavity(10.0), [], BROADLEAF),
    ("decay beyond limit", 3, cavity(6.0), [], BROADLEAF),
    ("decay beyond limit and severe crack", 4, cavity(6.0), [SEVERE_CRACK], BROADLEAF),
    ("crack without extensive decay", 2, CRACK, [], BROADLEAF),
    ("crack in soil", 3, of("crack", type="shear", touches_soil=True), [], BROADLEAF),
    ("crack with another defect", 3, CRACK, [MINOR_DECAY], BROADLEAF),
    ("split in half", 4, of("crack", type="longitudinal", parted=True), [], BROADLEAF),
    ("split limb", 4, of("crack", "limb", type="longitudinal", parted=True), [], BROADLEAF),
    *(
        (f"{kind} {percent} %", expected, around(kind, percent), beside, BROADLEAF)
        for kind in ("canker", "wound")
        for percent, expected, beside in (
            (30.0, 2, []),
            (40.0, 2, []),
            (40.1, 3, []),
            (40.1, 4, [EXTENSIVE_DECAY]),
            (40.1, 4, [CRACK]),
        )
    ),
    ("minor dieback", 1, of("dead_wood", "crown", largest_diameter_cm=2, crown_percent=5), [], BROADLEAF),
    ("hardwood crown 50 %", 2, storm(50), [], BROADLEAF),
    ("hardwood crown over 50 %", 3, storm(50.1), [], BROADLEAF),
    ("pine crown 30 %", 2, storm(30), [], PINE),
    ("pine crown over 30 %", 3, storm(30.1), [], PINE),
    ("included bark", 2, UNION, [], BROADLEAF),
    ("union with crack", 3, UNION, [CRACK], BROADLEAF),
    ("union with decay", 3, UNION, [MINOR_DECAY], BROADLEAF),
    ("union with crack and decay", 4, UNION, [CRACK, MINOR_DECAY], BROADLEAF),
    ("girdling below 40 %", 2, girdling(39.9), [], BROADLEAF),
    ("girdling above 40 %", 3, girdling(40.1), [], BROADLEAF),
    ("roots below 40 %", 2, roots(39.9), [], BROADLEAF),
    ("roots above 40 %", 3, roots(40.1), [], BROADLEAF),
    ("roots above 40 % and crack", 4, roots(40.1), [CRACK], BROADLEAF),
    ("roots above 40 % and decay", 4, roots(40.1), [EXTENSIVE_DECAY], BROADLEAF),
    ("lean, root breakage", 3, BROKEN_ROOTS, [], BROADLEAF),
    ("lean, mound", 3, NATURAL_LEAN, [MOUND], BROADLEAF),
    ("lean, fresh signs", 3, FRESH_LEAN, [], BROADLEAF),
    ("lean, crack", 3, NATURAL_LEAN, [CRACK], BROADLEAF),
    ("lean, extensive decay", 3, NATURAL_LEAN, [EXTENSIVE_DECAY], BROADLEAF),
    ("lean, root breakage and crack", 4, BROKEN_ROOTS, [CRACK], BROADLEAF),
    ("lean, root breakage and decay", 4, BROKEN_ROOTS, [EXTENSIVE_DECAY], BROADLEAF),
    ("lean, mound and crack", 4, NATURAL_LEAN, [MOUND, CRACK], BROADLEAF),
    ("lean, mound and decay", 4, NATURAL_LEAN, [MOUND, EXTENSIVE_DECAY], BROADLEAF),
    ("hanger", 4, of("broken_branch", "branch", state="hanging", diameter_cm=5), [], BROADLEAF),
    ("dead limb with crack", 4, of("dead_wood", "limb", largest_diameter_cm=5, cracked=True), [], BROADLEAF),
]  # fmt: skip


@pytest.mark.parametrize(
    ("expected", "finding", "beside", "tree"), [cell[1:] for cell in CELLS], ids=[cell[0] for cell in CELLS]
)
def test_each_cell_gives_its_class(expected: int, finding: Finding, beside: list[Finding], tree: TreeFacts) -> None:
    assert [problem for given in (finding, *beside) for problem in check(given, tree)] == []
    judged = suggest([finding, *beside], tree).by_finding[0]
    assert judged.defect_class == expected
    assert any("USDA NA-TP-03-03" in reason.source for reason in judged.reasons if reason.defect_class == expected)


@pytest.mark.parametrize(
    ("beside", "expected"),
    [
        ([], 3),
        ([CRACK], 4),
        ([of("broken_branch", "branch", state="hanging", diameter_cm=5)], 4),
        ([EXTENSIVE_DECAY], 4),
        ([MINOR_DECAY], 3),
    ],
)
def test_a_standing_dead_tree_is_high_and_extremely_high_with_another_major_defect(
    beside: list[Finding], expected: int
) -> None:
    dead = suggest(beside, DEAD).by_finding[-1]
    assert (dead.place, dead.defect_class) == (None, expected)
