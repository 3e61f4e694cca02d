"""The policy is read strictly: whatever is wrong is named by its path."""

import copy
import json
from datetime import date
from typing import Any

import pytest

from assessments.methods import policy as policies
from assessments.methods.policy import Policy, PolicyError


def data() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(policies.default_policy_text())
    return loaded


def changed(path: str, value: object) -> dict[str, Any]:
    """The shipped policy with one value put in place at a dotted path."""
    whole = copy.deepcopy(data())
    *way, last = path.split(".")
    inner = whole
    for step in way:
        inner = inner[step]
    inner[last] = value
    return whole


def path_of_error(whole: object) -> str:
    with pytest.raises(PolicyError) as caught:
        Policy.from_data(whole)
    assert str(caught.value).startswith(caught.value.path)
    return caught.value.path


def test_the_shipped_policy_is_read() -> None:
    shipped = policies.default_policy()
    assert shipped.version == "2026.1"
    assert shipped.high_months[4] == 6
    assert shipped.establishment_planted_from == date(2024, 1, 1)


def test_the_shipped_intervals_lie_inside_the_published_ranges() -> None:
    # ISA BMP Tree Risk Assessment, 2nd ed. 2017: high up to a year, low 3 to 5 years, in general 1 to 5 years.
    shipped = policies.default_policy()
    assert max(shipped.high_months) <= 12
    assert min(shipped.low_months) >= 36
    assert max(shipped.low_months) <= 60
    assert min(shipped.moderate_months) >= 12
    assert max(shipped.moderate_months) <= 36


def test_the_choices_of_the_shipped_policy_are_marked_as_such() -> None:
    notes = data()["notes"]
    assert notes.keys() == data().keys() - {"version", "notes"}
    assert all(note.startswith("Project's choice") for note in notes.values())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("version", ""),
        ("version", 3),
        ("interval_months", []),
        ("interval_months.extreme", {}),
        ("interval_months.high.constant", 13),
        ("interval_months.high.constant", 0),
        ("interval_months.high.constant", 6.5),
        ("interval_months.high.constant", True),
        ("interval_months.high.constant", "6"),
        ("interval_months.high.frequent", 12),
        ("interval_months.moderate.rare", 37),
        ("interval_months.moderate.unknown", 11),
        ("interval_months.low.rare", 61),
        ("interval_months.low.constant", 35),
        ("interval_months.low.never", 40),
        ("unrated_interval_months.rare", 72),
        ("act_by_days.high", -1),
        ("act_by_days.high", None),
        ("act_by_days.moderate", 90),
        ("act_by_days.extreme", 31),
        ("establishment.months_after_planting", 6),
        ("establishment.months_after_planting", [6, 6]),
        ("establishment.planted_from", "January"),
        ("establishment.planted_from", 2024),
        ("decay_halves_interval", 1),
        ("unseen_queue.occupancy_weight.rare", 0),
        ("unseen_queue.occupancy_weight.rare", float("nan")),
        ("unseen_queue.unknown_dbh_cm", 0),
        ("colour", "blue"),
        ("notes", "none"),
        ("notes.interval_months", 3),
    ],
)
def test_a_wrong_value_is_refused_by_its_path(path: str, value: object) -> None:
    assert path_of_error(changed(path, value)) == path


@pytest.mark.parametrize("name", [name for name in data() if name not in ("notes", "decay_growth")])
def test_each_part_is_required(name: str) -> None:
    whole = data()
    del whole[name]
    assert path_of_error(whole) == name


def test_a_visit_out_of_range_is_named_by_its_place() -> None:
    whole = changed("establishment.months_after_planting", [6, 12, 121])
    assert path_of_error(whole) == "establishment.months_after_planting[2]"


def test_something_that_is_no_object_is_refused() -> None:
    assert path_of_error(None) == "policy"


def test_visits_and_their_start_may_be_left_empty() -> None:
    assert Policy.from_data(changed("establishment.months_after_planting", [])).establishment_months == ()
    assert Policy.from_data(changed("establishment.planted_from", None)).establishment_planted_from is None


@pytest.mark.parametrize("note", ["x" * 2001, "a\x00b"])
def test_a_note_is_short_and_of_signs_that_can_be_kept(note: str) -> None:
    assert path_of_error(changed("notes.mine", note)) == "notes.mine"
    assert path_of_error(changed("notes", {str(place): "said" for place in range(101)})) == "notes"
    assert Policy.from_data(changed("notes.mine", "x" * 2000))
