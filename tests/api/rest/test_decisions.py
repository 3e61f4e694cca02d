"""Decisions and rate cards over HTTP: sent once or twice, refused by name, read by those who may."""

import json
import uuid
from typing import Any

import pytest

from assessments.methods import rate_card
from inventory.models import Tree
from tests.support import build
from tests.support import options as make
from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.inspections import TODAY
from tests.support.query_counts import check, counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
ON = TODAY.isoformat()


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.calendar.today", lambda: TODAY)


def body(option: uuid.UUID, **members: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "option": str(option),
        "decided_on": ON,
        "decided_by": "Maren Holt",
        "office": "head of parks",
        "why": "the lime is to be kept",
    } | members


def test_a_decision_is_recorded_once_and_read() -> None:
    tree, forester = build.tree(), as_role("forester")
    sent = body(make.chosen(tree, "high").uid, accepted_risk="a limb may fall", ends_on="2027-11-25")
    first = forester.post(f"{V1}/trees/{tree.uid}/decisions", sent)
    again = forester.post(f"{V1}/trees/{tree.uid}/decisions", sent)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert [one["kind"] for one in first.json()["checks"]] == ["decision_end"]
    assert as_role("auditor").get(first["Location"]).json() == first.json()
    other = sent | {"why": "another reason"}
    problem(forester.post(f"{V1}/trees/{tree.uid}/decisions", other), 409, "conflict")


def test_a_decision_that_keeps_a_risk_must_say_so() -> None:
    tree = build.tree()
    answer = as_role("forester").post(f"{V1}/trees/{tree.uid}/decisions", body(make.chosen(tree, "high").uid))
    assert pointers(problem(answer, 400, "invalid")) == {"#/accepted_risk", "#/ends_on"}


def test_an_option_of_another_tree_is_refused() -> None:
    option = make.chosen(build.tree())
    answer = as_role("forester").post(f"{V1}/trees/{build.tree(40).uid}/decisions", body(option.uid))
    assert pointers(problem(answer, 400, "invalid")) == {"#/option"}


def test_decisions_are_listed_by_what_is_still_open_of_them() -> None:
    first, second = build.tree(), build.tree(50)
    make.decided(make.chosen(first), on=TODAY)
    make.decided(make.chosen(second, "moderate"), accepted_risk="a limb may fall", ends_on=TODAY)
    reader = as_role("public_works")
    listed = {state: reader.get(f"{V1}/decisions?state={state}").json()["items"] for state in ("open", "lapsed")}
    assert [one["tree"] for one in listed["open"]] == [str(first.uid), str(second.uid)]
    assert listed["lapsed"] == []
    assert [one["superseded_by"] for one in listed["open"]] == [None, None]


def test_lists_of_decisions_make_no_query_a_row() -> None:
    tree, reader = build.tree(), as_role("auditor")
    addresses = {"decisions": f"{V1}/decisions", "trees/{tree}/decisions": f"{V1}/trees/{tree.uid}/decisions"}

    def grow(number: int) -> None:
        option = make.chosen(tree, "moderate", on=TODAY)
        make.decided(option, accepted_risk="a limb may fall", ends_on=TODAY, why=f"reason {number}")
        make.decided(make.chosen(build.tree(number * 20 + 20)))

    grow(0)
    few = {name: counted(lambda url=url: reader.get(url)) for name, url in addresses.items()}
    few = {name: counted(lambda url=url: reader.get(url)) for name, url in addresses.items()}
    for number in range(1, 5):
        grow(number)
    for name, url in addresses.items():
        assert reader.get(url).status_code == 200
        assert counted(lambda url=url: reader.get(url)) == few[name]
        check(f"GET {name} auditor", few[name])


def test_the_shipped_rate_card_is_read_and_a_new_one_adopted() -> None:
    forester = as_role("forester")
    shipped = forester.get(f"{V1}/rate-cards").json()["items"]
    assert [one["version"] for one in shipped] == [0]
    card = json.loads(rate_card.default_rate_card_text())
    adopted = forester.post(f"{V1}/rate-cards", {"rate_card": card, "why": "our rates"}, headers=key())
    assert (adopted.status_code, adopted.json()["version"]) == (201, 1)
    card["actions"]["remove"]["small"]["easy"]["cost"] = -3
    refused = forester.post(f"{V1}/rate-cards", {"rate_card": card, "why": "a slip"}, headers=key())
    assert pointers(problem(refused, 400, "invalid")) == {"#/rate_card/actions/remove/small/easy/cost"}


def test_the_history_of_a_tree_tells_of_its_decisions() -> None:
    tree: Tree = build.tree()
    make.decided(make.chosen(tree))
    acts = as_role("auditor").get(f"{V1}/trees/{tree.uid}/history").json()["items"]
    assert {row["noun"] for act in acts for row in act["rows"]} >= {"decision", "option"}
