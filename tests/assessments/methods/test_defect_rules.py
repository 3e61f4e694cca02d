"""The table of defect classes is read strictly."""

import pytest

from assessments.methods import defect_rules
from assessments.methods.defect_rules import RULES, together
from assessments.methods.findings import KINDS, Finding

DERIVED = {"part", "part_diameter_cm", "shell_per_six", "opening_share"}


def test_each_rule_has_a_name_of_its_own_a_class_a_reason_and_a_source() -> None:
    assert len({rule.name for rule in RULES}) == len(RULES)
    for rule in RULES:
        assert 1 <= rule.defect_class <= 4
        assert rule.reason
        assert rule.source


def test_each_rule_tests_only_what_its_kinds_can_have() -> None:
    for rule in RULES:
        for kind in rule.kinds:
            for name, _, _ in rule.tests:
                assert name in KINDS[kind].measures.keys() | DERIVED, (rule.name, name)


@pytest.mark.parametrize(("column", "text"), [("when", "count ~ 3"), ("kinds", "moss"), ("with", "rain")])
def test_a_row_that_cannot_be_read_is_refused(column: str, text: str) -> None:
    row = {
        "rule": "r", "kinds": "crack", "when": "", "with": "", "class": "2",
        "begun": "no", "act_now": "no", "source": "choice", "reason": "why",
    }  # fmt: skip
    defect_rules._rule(row)
    with pytest.raises((ValueError, KeyError)):
        defect_rules._rule({**row, column: text})


def test_together_is_mutual_and_holds_on_adjoining_parts() -> None:
    stem, union, branch = (Finding("crack", part, height_m=2.0) for part in ("stem", "union", "branch"))
    assert together(stem, union)
    assert together(union, stem)
    assert not together(stem, branch)
