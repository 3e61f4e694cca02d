"""A choice from JSON: what is taken, and each wrong member named by its pointer."""

import pytest

from assessments.methods.options import read_choice
from assessments.methods.problems import MethodProblem


def test_settings_and_the_arborists_own_figures_are_read() -> None:
    found = read_choice(
        "reduce_crown",
        {"percent": 15, "findings": [0, 2]},
        {
            "cost_now": 900,
            "crew_hours": 10,
            "residual": [{"rating": 1, "failure": "possible", "impact": "low", "consequences": "minor"}],
        },
    )
    assert (found.percent, found.findings, found.targets) == (15.0, (0, 2), None)
    assert found.own.cost_now == 900
    assert found.own.residual == {1: ("possible", "low", "minor")}


def test_nothing_given_leaves_everything_to_the_catalogue() -> None:
    found = read_choice("retain_and_monitor")
    assert (found.percent, found.months, found.own.cost_now, dict(found.own.residual)) == (None, None, None, {})


ROW = {"rating": 0, "failure": "possible", "impact": "low", "consequences": "minor"}


@pytest.mark.parametrize(
    ("kind", "settings", "own", "pointer"),
    [
        ("topping", None, None, "/kind"),
        ("reduce_crown", [], None, "/settings"),
        ("reduce_crown", {"percent": 0}, None, "/settings/percent"),
        ("reduce_crown", {"colour": 1}, None, "/settings/colour"),
        ("retain_and_monitor", {"months": 1.5}, None, "/settings/months"),
        ("move_target", {"targets": [0.5]}, None, "/settings/targets/0"),
        ("move_target", {"targets": "0"}, None, "/settings/targets"),
        ("reduce_crown", None, {"cost_now": -1}, "/own/cost_now"),
        ("reduce_crown", None, {"residual": [ROW, ROW]}, "/own/residual"),
        ("reduce_crown", None, {"residual": [ROW | {"failure": "never"}]}, "/own/residual/0/failure"),
        ("reduce_crown", None, {"residual": [{"rating": 0}]}, "/own/residual/0/failure"),
        ("reduce_crown", None, {"residual": [ROW | {"rating": 0.5}]}, "/own/residual/0/rating"),
    ],
)
def test_a_wrong_member_is_named(kind: str, settings: object, own: object, pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        read_choice(kind, settings, own)
    assert caught.value.fields[0].pointer == pointer
