"""Support by a cable: tension, weakest component, anchors, a table that the municipality loads itself."""

import math
import time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.problems import MethodProblem
from assessments.methods.support import Anchor, Leader, compute

UNION: dict[str, Any] = {"union_height_m": 5, "crown_top_m": 20, "leaders": [{"moment_knm": 50}, {"moment_knm": 30}]}
PARTS = [{"strand": "ehs_1_4"}, {"name": "termination", "breaking_kn": 25}, {"name": "anchor", "working_kn": 7}]


def test_the_larger_leader_governs() -> None:
    answer = compute(UNION | {"leaders": [{"moment_knm": 30}, {"moment_knm": 50}]})
    assert (answer["governing_leader"], answer["tension_kn"]) == (1, 5.0)


def test_a_slanting_cable_can_make_the_lighter_leader_govern() -> None:
    answer = compute(UNION | {"leaders": [{"moment_knm": 50}, {"moment_knm": 40, "angle_deg": 50}]})
    assert answer["governing_leader"] == 1
    assert answer["tension_kn"] == pytest.approx(40 / (10 * math.cos(math.radians(50))), rel=1e-6)


def test_the_weakest_component_is_compared() -> None:
    answer = compute(UNION | {"components": PARTS})
    # 25 kN breaking strength is 5 kN of working load: weaker than strand (5.92) and anchor (7).
    assert (answer["weakest_component"], answer["working_load_kn"]) == ("termination", 5.0)
    assert answer["within_working_load"]
    assert not compute(UNION | {"components": PARTS, "attachment_height_m": 10})["within_working_load"]


def test_a_leader_may_have_its_own_arm_along_it() -> None:
    answer = compute(UNION | {"leaders": [{"moment_knm": 50, "arm_m": 12.5}]})
    assert answer["tension_kn"] == 4.0
    assert any("Only one leader" in note for note in answer["notes"])


def test_without_components_nothing_is_said_to_hold() -> None:
    answer = compute(UNION)
    assert answer["within_working_load"] is None
    assert any("compared with nothing" in note for note in answer["notes"])


def test_snatch_and_the_missing_table_are_said_in_every_answer() -> None:
    notes = " ".join(compute(UNION)["notes"])
    assert "snatch" in notes
    assert "No published table" in notes


def test_anchors_in_decay_are_refused_with_the_reason() -> None:
    answer = compute(UNION | {"anchors": [
        {"limb_diameter_cm": 30, "sound_wood_cm": 8.9},
        {"limb_diameter_cm": 30, "sound_wood_cm": 9},
        {"limb_diameter_cm": 30, "sound_wood_cm": 20, "type": "lag", "in_decay": True},
    ]})  # fmt: skip
    assert [anchor["allowed"] for anchor in answer["anchors"]] == [False, True, False]
    assert "30 %" in answer["anchors"][0]["reason"]
    assert "lag" in answer["anchors"][2]["reason"]
    assert Anchor(30, 20, "through", True).refused() == ""


def test_the_table_of_a_standard_that_the_city_holds_is_looked_up() -> None:
    table = {"standard": "the city's own", "rows": [{"limb_to_cm": 40, "size": "B"}, {"limb_to_cm": 20, "size": "A"}]}
    found = [compute(UNION | {"table": table | {"limb_diameter_cm": limb}})["table"] for limb in (20, 20.1, 41)]
    assert [row.get("size") for row in found] == ["A", "B", None]
    assert not found[2]["applies"]


@given(st.floats(0.1, 1e4), st.floats(0, 60), st.floats(0.5, 40), st.floats(0.1, 10))
def test_tension_scales_with_the_moment_and_falls_with_the_arm(
    moment: float, angle: float, arm: float, factor: float
) -> None:
    tension = Leader(moment, angle).tension_kn(arm)
    assert Leader(moment * factor, angle).tension_kn(arm) == pytest.approx(tension * factor)
    assert Leader(moment, angle).tension_kn(arm * factor) == pytest.approx(tension / factor)
    assert tension >= moment / arm * (1 - 1e-12)


def test_a_leader_needs_an_arm() -> None:
    with pytest.raises(ValueError, match="must be positive"):
        Leader(50.0).tension_kn(0.0)


WRONG: list[tuple[str, dict[str, Any]]] = [
    ("/surprise", {"surprise": 1}),
    ("/union_height_m", {"union_height_m": math.nan}),
    ("/union_height_m", {"union_height_m": -1}),
    ("/crown_top_m", {"crown_top_m": 5}),
    ("/crown_top_m", {"crown_top_m": 10**400}),
    ("/attachment_height_m", {"attachment_height_m": 5}),
    ("/attachment_height_m", {"attachment_height_m": 21}),
    ("/leaders", {"leaders": None}),
    ("/leaders", {"leaders": []}),
    ("/leaders", {"leaders": [{"moment_knm": 1}] * 100_000}),
    ("/leaders/0/moment_knm", {"leaders": [{"moment_knm": -1}]}),
    ("/leaders/0/angle_deg", {"leaders": [{"moment_knm": 1, "angle_deg": 61}]}),
    ("/components/0/working_kn", {"components": [{"name": "x"}]}),
    ("/components/0/working_kn", {"components": [{"name": "x", "breaking_kn": 3, "working_kn": 3}]}),
    ("/components/0/strand", {"components": [{"strand": "silk"}]}),
    ("/anchors/0/sound_wood_cm", {"anchors": [{"limb_diameter_cm": 10, "sound_wood_cm": 11}]}),
    ("/table/rows", {"table": {"standard": "x", "limb_diameter_cm": 10}}),
]


@pytest.mark.parametrize(("pointer", "change"), WRONG, ids=[f"{at} {n}" for n, (at, _) in enumerate(WRONG)])
def test_bad_input_names_its_field_within_a_second(pointer: str, change: dict[str, Any]) -> None:
    start = time.process_time()
    with pytest.raises(MethodProblem) as caught:
        compute(UNION | change)
    assert pointer in [field.pointer for field in caught.value.fields]
    assert time.process_time() - start < 1
