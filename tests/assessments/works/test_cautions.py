"""Cautions follow from what was recorded: each kind that endangers a crew says so, and nothing else does."""

import pytest

from assessments.methods import catalogue
from assessments.works import cautions as c
from assessments.works.cautions import Seen, cautions


def of(kind: str, part: str = "stem", **measures: object) -> list[str]:
    return cautions([Seen(kind, part, measures)], "alive", "none", "remove")


@pytest.mark.parametrize(
    ("found", "caution"),
    [
        (("broken_branch", "branch", {"state": "hanging"}), c.HANGING),
        (("broken_branch", "branch", {"state": "lodged"}), c.HANGING),
        (("crack", "stem", {"parted": True}), c.PARTED),
        (("previous_split", "union", {"parted": True}), c.PARTED),
        (("seam", "stem", {"type": "open"}), c.PARTED),
        (("decay", "limb", {}), c.ANCHOR),
        (("cavity", "stem", {}), c.ANCHOR),
        (("fruiting_body", "root_collar", {}), c.ROOTS),
        (("decay", "root", {}), c.ROOTS),
        (("root_plate_lift", "root_collar", {}), c.ROOTS),
        (("root_loss", "root", {}), c.ROOTS),
        (("lean", "stem", {"type": "recent"}), c.ROOTS),
        (("lean", "stem", {"type": "natural", "fresh_signs": True}), c.ROOTS),
        (("dead_wood", "crown", {}), c.DEAD),
        (("storm_damage", "crown", {}), c.TENSION),
        (("insect_sign", "stem", {}), c.INSECTS),
    ],
)
def test_a_dangerous_finding_gives_its_caution(found: tuple[str, str, dict[str, object]], caution: str) -> None:
    kind, part, measures = found
    assert kind in catalogue.KINDS
    assert part in catalogue.KINDS[kind].parts
    assert set(measures) <= set(catalogue.KINDS[kind].measures)
    assert of(kind, part, **measures) == [caution]


@pytest.mark.parametrize(
    ("kind", "measures"),
    [("lean", {"type": "natural"}), ("broken_branch", {"state": "stub"}), ("seam", {"type": "closed"}), ("canker", {})],
)
def test_a_finding_that_endangers_no_crew_gives_none(kind: str, measures: dict[str, object]) -> None:
    assert of(kind, "branch", **measures) == []


def test_each_caution_is_said_once() -> None:
    found = [Seen("decay", "stem", {}), Seen("cavity", "limb", {}), Seen("decay", "root", {})]
    assert cautions(found, "dead", "high_voltage", "remove") == [c.ANCHOR, c.ROOTS, c.DEAD_TREE, c.HIGH_VOLTAGE]


@pytest.mark.parametrize(
    ("lines", "caution"),
    [
        ("high_voltage", [c.HIGH_VOLTAGE]),
        ("low_voltage", [c.LOW_VOLTAGE]),
        ("communication", [c.COMMUNICATION]),
        ("unknown", [c.LINES_UNKNOWN]),
        (None, [c.LINES_UNKNOWN]),
        ("none", []),
    ],
)
def test_overhead_lines_are_named_and_an_unknown_one_is_not_taken_for_none(
    lines: str | None, caution: list[str]
) -> None:
    assert cautions([], "alive", lines, "reduce_crown") == caution


def test_who_digs_is_told_of_what_lies_buried() -> None:
    assert cautions([], "stump", "high_voltage", "grind_stump") == [c.BURIED]
