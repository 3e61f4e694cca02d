"""The policy: versions that are kept, numbered by the service, refused by name where a value is wrong."""

import json
from typing import Any

import pytest

from assessments import queries, services
from assessments.methods import policy as methods
from assessments.models import Mark, Policy
from inventory.history import SERVICE
from inventory.models import Event
from inventory.problems import Invalid

pytestmark = pytest.mark.django_db


def shipped() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(methods.default_policy_text())
    return data


def test_the_shipped_policy_is_in_force_before_any_is_adopted() -> None:
    assert queries.current_policy().version == 0
    assert queries.current_policy().data == shipped()


def test_the_shipped_policy_is_installed_once() -> None:
    first, second = services.install_default_policy(), services.install_default_policy()
    assert (first.version, second.version, Policy.objects.count()) == (1, 1, 1)
    assert Mark.objects.count() == 1


def test_a_new_version_is_numbered_and_the_old_one_stays() -> None:
    services.install_default_policy()
    data = shipped()
    data["act_by_days"]["high"] = 14
    policy = services.adopt_policy(SERVICE, data, "faster for high risk")
    assert (policy.version, policy.data["version"]) == (2, "2")
    assert [one.version for one in queries.policies()] == [2, 1]
    assert queries.current_policy().data["act_by_days"]["high"] == 14
    assert Event.objects.filter(kind="policy.adopted").count() == 2


@pytest.mark.parametrize(
    ("path", "value", "pointer"),
    [
        (("act_by_days", "high"), -1, "#/policy/act_by_days/high"),
        (("interval_months", "high", "rare"), 40, "#/policy/interval_months/high/rare"),
        (("establishment", "months_after_planting"), [3, "x"], "#/policy/establishment/months_after_planting/1"),
        (("colour",), "green", "#/policy/colour"),
    ],
)
def test_a_wrong_value_is_named_and_nothing_is_adopted(path: tuple[str, ...], value: object, pointer: str) -> None:
    data = shipped()
    inside = data
    for name in path[:-1]:
        inside = inside[name]
    inside[path[-1]] = value
    with pytest.raises(Invalid) as caught:
        services.adopt_policy(SERVICE, data, "a try")
    assert [error.pointer for error in caught.value.errors] == [pointer]
    assert not Policy.objects.exists()
    assert not Mark.objects.exists()


def test_a_policy_needs_a_reason() -> None:
    with pytest.raises(Invalid, match="why"):
        services.adopt_policy(SERVICE, shipped(), " ")
    assert not Policy.objects.exists()
