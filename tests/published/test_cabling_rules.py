"""Cabling: attachment height of ANSI A300 and the ISA BMP (from memory), working load of a fifth, ASTM A475 strand.

1/4 in extra-high-strength strand works at 1330 lb: seen in print; the other strengths are from memory.
"""

import math

import pytest

from assessments.methods.support import KN_PER_LB, Leader, attachment_height_m, compute


def test_the_cable_is_set_two_thirds_of_the_way_from_union_to_crown_top() -> None:
    assert attachment_height_m(5, 20) == pytest.approx(15.0)


@pytest.mark.parametrize(
    ("strand", "pounds"), [("ehs_3_16", 798), ("ehs_1_4", 1330), ("ehs_5_16", 2240), ("ehs_3_8", 3080)]
)
def test_a_strand_works_at_a_fifth_of_its_strength(strand: str, pounds: float) -> None:
    union = {"union_height_m": 5, "crown_top_m": 20, "leaders": [{"moment_knm": 1}], "components": [{"strand": strand}]}
    assert compute(union)["working_load_kn"] == pytest.approx(pounds * KN_PER_LB, abs=1e-3)


def test_tension_is_the_moment_over_the_arm_and_the_cosine() -> None:
    """Statics: T = M / (h cos a)."""
    assert Leader(60.0, 30.0).tension_kn(10.0) == pytest.approx(60 / (10 * math.sqrt(3) / 2))
