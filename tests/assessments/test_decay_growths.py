"""Decay measured inside sets a date of its own; outside signs only halve; roots and butt ask for the collar."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments import decay_growths, inputs, restate, services
from assessments.decay_growths import Part, compute, due_on
from assessments.methods import decay_growth as method
from assessments.methods import policy as policies
from assessments.methods.due import reasons
from assessments.methods.priority import RULES
from assessments.models import DecayGrowth, Finding, Inspection, Mark, Priority, RequiredCheck
from assessments.records import FindingRecord, InspectionRecord
from inventory.history import SERVICE
from inventory.models import Tree
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]

RULE = policies.DecayRule()
CAVITY = make.finding("cavity", "stem", height_m=0.4, measures={"depth_cm": 30.0})


def poplar() -> Tree:
    """A tree that walls off decay weakly."""
    return build.tree(species_id=build.species("Populus nigra", family="Salicaceae", common_en="black poplar").pk)


def looked_into(wall_cm: float, on: date = make.TODAY, finding: FindingRecord = CAVITY, **fields: Any) -> Any:
    """A rated advanced inspection of a cavity with a section through it."""
    section = measure.section(wall_cm, finding=0)
    return make.rated("low", on, findings=(finding,), sections=(section,), level="advanced", **fields)


def inspected(tree: Tree, record: InspectionRecord) -> Priority:
    make.inspected(tree, record)
    return Priority.objects.get(tree=tree)


def adopt(**numbers: Any) -> None:
    """Adopt the shipped policy with other numbers for decay."""
    data = json.loads(policies.default_policy_text())
    services.adopt_policy(SERVICE, {**data, "decay_growth": numbers}, "another threshold")


def test_the_first_year_in_which_the_threshold_is_likely_crossed_is_a_date_of_its_own() -> None:
    row = inspected(poplar(), looked_into(14.5))
    kept = DecayGrowth.objects.get()
    assert kept.banded
    assert kept.first_year is not None
    assert 0 < kept.first_year < 20
    assert kept.due_on == row.by_decay_growth == make.TODAY.replace(year=make.TODAY.year + kept.first_year)
    chance = kept.result["band"]["crossed_percent"]
    assert chance[kept.first_year - 1] < 20 <= chance[kept.first_year]
    assert (kept.method, kept.version) == (method.METHOD, method.VERSION)
    assert kept.result == method.compute({**kept.asked, "threshold": {"t_over_r": 0.30}, "chance_percent": 20.0})
    assert kept.asked["measurements"] == [{"sound_wall_cm": pytest.approx(14.5), "error_cm": 1.0}]
    assert kept.asked["diameter_cm"] == pytest.approx(76.0, rel=1e-3)  # 80 cm less 2 x 2 cm of bark


def test_the_earliest_rule_wins_and_the_reason_says_which_number_it_rests_on() -> None:
    tree = poplar()
    row = inspected(tree, looked_into(13.0))
    assert RULES[row.rule] == "decay_growth"
    assert row.inspect_by == row.by_decay_growth
    assert row.by_decay_growth < row.by_interval  # type: ignore[operator]
    _, policy = inputs.policy_in_force()
    said = reasons(vars(row), inputs.trees([tree.pk])[0], policy, make.TODAY)[1]
    assert said.startswith(f"Inspect by {row.inspect_by}:")
    assert "t/R 0.3 reaches 20 %" in said
    assert "measure it again" in said


def test_what_has_crossed_already_is_seen_again_in_months_and_not_at_once() -> None:
    row = inspected(poplar(), looked_into(5.0))
    assert DecayGrowth.objects.get().first_year == 0
    assert row.by_decay_growth == date(2027, 5, 25)


def test_a_thick_wall_gives_no_date_and_takes_the_halving_of_the_outside_sign_away() -> None:
    sign = make.rated("low", findings=(CAVITY,))
    halved, whole = inspected(build.tree(), sign), inspected(build.tree(), looked_into(30.0))
    assert halved.by_decay is not None
    assert halved.by_decay_growth is None
    assert (whole.by_decay, whole.by_decay_growth) == (None, None)
    assert whole.inspect_by == whole.by_interval == halved.by_interval


def test_outside_signs_alone_store_nothing_and_never_say_now() -> None:
    tree = poplar()
    row = inspected(tree, make.rated("low", findings=(make.finding(), CAVITY)))
    assert not DecayGrowth.objects.exists()
    assert row.by_decay is not None
    assert row.inspect_by == row.by_decay > make.TODAY


def test_a_wall_told_by_a_mallet_is_an_outside_sign_and_one_that_was_drilled_is_not() -> None:
    for indicator, kept in (("hollow_sound", 0), ("drilling", 1)):
        measures = {"indicator": indicator, "shell_cm": 6.0}
        finding = make.finding("decay", "stem", part_diameter_cm=60.0, height_m=1.0, measures=measures)
        make.inspected(poplar(), make.rated("low", findings=(finding,)))
        assert DecayGrowth.objects.count() == kept


@pytest.mark.parametrize(
    ("finding", "asks"),
    [
        (make.finding("decay", "root_collar"), True),
        (make.finding("fruiting_body", "root", measures={"count": 1}), True),
        (
            make.finding("fruiting_body", "stem", measures={}, fungus_genus="Ganoderma", fungus_confidence="certain"),
            True,
        ),
        (
            make.finding("fruiting_body", "stem", measures={}, fungus_genus="Ganoderma", fungus_confidence="guess"),
            False,
        ),
        (make.finding("decay", "limb"), False),
    ],
)
def test_rots_of_roots_and_butt_ask_for_the_root_collar_by_half_an_interval(finding: FindingRecord, asks: bool) -> None:
    tree = poplar()
    row = inspected(tree, make.rated("low", findings=(finding,)))
    checks = RequiredCheck.objects.filter(tree=tree, source="decay")
    assert [check.kind for check in checks] == ["root_collar"] * asks
    if asks:
        # Low risk, frequent use: 48 months, halved.
        assert checks[0].due_on == row.by_check == date(2028, 11, 25)
        assert not DecayGrowth.objects.get().banded


def test_one_inspection_asks_for_the_root_collar_once_and_the_next_look_closes_it() -> None:
    tree, rots = poplar(), (make.finding("decay", "root_collar"), make.finding("decay", "root"))
    make.inspected(tree, make.rated("low", date(2025, 3, 1), findings=rots))
    check = RequiredCheck.objects.get(tree=tree)
    make.inspected(tree, make.rated("low", date(2026, 3, 1)))
    check.refresh_from_db()
    assert check.closed_on == date(2026, 3, 1)


def test_a_measurement_stands_until_the_same_part_is_measured_again() -> None:
    tree = build.tree()
    first = inspected(tree, looked_into(12.5, date(2024, 3, 1)))
    seen = Finding.objects.get()
    basic = inspected(tree, make.rated("low", date(2025, 3, 1), findings=(replace(CAVITY, continues=seen.uid),)))
    assert first.by_decay_growth == date(2027, 3, 1)
    assert basic.by_decay_growth == first.by_decay_growth
    other = measure.section(30.0, finding=None)
    elsewhere = replace(other, measured={**other.measured, "height_m": 4.0})
    away = inspected(tree, make.rated("low", date(2025, 4, 1), sections=(elsewhere,)))
    assert away.by_decay_growth == first.by_decay_growth
    newest = Finding.objects.latest("pk")
    again = inspected(tree, looked_into(30.0, date(2026, 3, 1), replace(CAVITY, continues=newest.uid)))
    assert again.by_decay_growth is None


def test_the_order_of_arrival_does_not_matter() -> None:
    one, other = poplar(), poplar()
    records = [looked_into(wall, on) for wall, on in ((20.0, date(2023, 5, 1)), (14.0, date(2025, 5, 1)))]
    for tree, order in ((one, records), (other, [replace(r, uid=make.record().uid) for r in reversed(records)])):
        for record in order:
            make.inspected(tree, record)
    first, second = (Priority.objects.get(tree=tree).by_decay_growth for tree in (one, other))
    assert first == second is not None


def test_the_pass_over_all_gives_what_the_service_gave() -> None:
    for wall in (5.0, 13.0, 30.0):
        make.inspected(poplar(), looked_into(wall))
    before = list(Priority.objects.order_by("tree").values())
    assert restate.restate_all().written == 0
    assert list(Priority.objects.order_by("tree").values()) == before


def test_a_new_policy_computes_them_again_keeps_the_old_ones_and_moves_the_date() -> None:
    services.install_default_policy()
    tree = poplar()
    before = inspected(tree, looked_into(14.5)).by_decay_growth
    restate.restate_all()
    assert services.follow_policy().growths_computed == 0
    adopt(least_t_over_r=0.35)
    assert services.follow_policy().growths_computed == 1
    assert services.recompute_growths().growths_computed == 0
    restate.restate_marked()
    after = Priority.objects.get(tree=tree).by_decay_growth
    assert after is not None
    assert before is not None
    assert after < before
    adopt(least_t_over_r=0.30, chance_percent=20, crossed_months=6)
    services.follow_policy()
    restate.restate_marked()
    assert Priority.objects.get(tree=tree).by_decay_growth == before
    assert DecayGrowth.objects.count() == 3


def test_a_policy_with_the_same_numbers_computes_nothing_again() -> None:
    services.install_default_policy()
    make.inspected(poplar(), looked_into(14.5))
    data = json.loads(policies.default_policy_text())
    services.adopt_policy(SERVICE, {**data, "unseen_queue": {**data["unseen_queue"], "unknown_dbh_cm": 31}}, "other")
    assert services.recompute_growths().growths_computed == 0


def test_a_new_version_adds_a_result_and_marks_the_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    tree = poplar()
    make.inspected(tree, looked_into(14.5))
    Mark.objects.all().delete()
    monkeypatch.setattr(decay_growths, "VERSION", method.VERSION + 1)
    assert services.recompute_growths().as_dict() == {"growths_computed": 1, "growths_refused": 0}
    assert list(DecayGrowth.objects.order_by("pk").values_list("version", flat=True)) == [1, 2]
    assert Mark.objects.get().subject == tree.pk


def test_many_parts_take_as_many_queries_as_few() -> None:
    def queries(count: int) -> int:
        entries = [(poplar(), looked_into(14.5)) for _ in range(count)]
        with CaptureQueriesContext(connection) as caught:
            services.record_inspections(SERVICE, entries, make.TODAY, now=make.NOW)
        return len(caught)

    queries(1)  # what is asked once a connection
    assert queries(1) == queries(3)


def test_a_preview_tells_of_the_growth_and_stores_nothing() -> None:
    found = services.preview(poplar(), looked_into(14.5), make.TODAY)
    assert [(one.banded, one.first_year) for one in found.decay] == [(True, 3)]
    assert not Inspection.objects.exists()


WALLS = st.floats(0, 35)
CASES = st.fixed_dictionaries(
    {
        "position": st.sampled_from(["stem", "limb"]),
        "diameter_cm": st.just(70.0),
        "species": st.sampled_from(["Quercus robur", "Populus nigra", "Ginkgo biloba"]),
        "vitality": st.sampled_from(["none", "low", "normal", "high"]),
    }
)


def first_year(asked: dict[str, Any], wall_cm: float, rule: policies.DecayRule = RULE) -> date:
    found = compute(Part(None, 0, "stem", 1.0, {**asked, "measurements": [{"sound_wall_cm": wall_cm}]}), rule)
    return due_on(found, make.TODAY, rule) or date.max


@settings(max_examples=60, deadline=None)
@given(CASES, WALLS, WALLS)
def test_a_thinner_wall_never_gives_a_later_date(asked: dict[str, Any], one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert first_year(asked, thin) <= first_year(asked, thick)


@settings(max_examples=40, deadline=None)
@given(CASES, WALLS, st.floats(0.1, 0.6), st.floats(0.1, 0.6), st.integers(5, 90), st.integers(5, 90))
def test_a_stricter_policy_never_gives_a_later_date(
    asked: dict[str, Any], wall: float, ratio: float, other: float, chance: int, more: int
) -> None:
    strict = policies.DecayRule(max(ratio, other), min(chance, more))
    lax = policies.DecayRule(min(ratio, other), max(chance, more))
    assert first_year(asked, wall, strict) <= first_year(asked, wall, lax)


@settings(max_examples=40, deadline=None)
@given(CASES, WALLS, st.floats(0, 6), st.sampled_from(["white", "brown", "soft"]))
def test_a_wider_weakened_zone_never_gives_a_later_date(
    asked: dict[str, Any], wall: float, more: float, rot: str
) -> None:
    known = {**asked, "rot_type": rot}
    assert first_year({**known, "allowance_cm": more}, wall) <= first_year({**known, "allowance_cm": 0}, wall)
