"""The pages of options and decisions: proposed on a button, side by side, edited, dropped, decided; none chosen."""

import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api.pages import choices
from assessments import queries
from assessments.methods.options import KINDS
from assessments.models import Decision, Inspection, Option, RequiredCheck
from inventory.history import SERVICE
from inventory.services import remove_tree
from tests.support import opened_lime as lime
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspection(place: Town) -> Inspection:
    return lime.inspected(lime.tree(today()), today() - timedelta(days=20))


def of(client: Client, inspection: Inspection) -> str:
    return text(client.get(f"/inspections/{inspection.uid}/options"))


def option(inspection: Inspection, kind: str) -> Option:
    return queries.option(Option.objects.get(inspection=inspection, kind=kind, source="method").uid)


def test_options_are_proposed_on_a_button_side_by_side_and_none_is_chosen(place: Town, inspection: Inspection) -> None:
    client = visitor(place.people["inspector"])
    assert "No option has been worked out" in of(client, inspection)
    sent = client.post(f"/inspections/{inspection.uid}/options/propose", {"access": "difficult"})
    assert sent.status_code == 302
    page = of(client, inspection)
    rows = list(queries.options_of(inspection))
    assert [one.kind for one in rows] == [kind for kind in KINDS if kind in {one.kind for one in rows}]
    assert all(f'id="option-{one.uid}"' in page for one in rows)
    assert "selected>Difficult" in page
    assert "checked" not in page
    assert page.count("<svg") > len(rows)
    assert not Decision.objects.exists()


def test_a_bettered_option_says_what_betters_it_and_only_such_a_one(place: Town, inspection: Inspection) -> None:
    rows = lime.proposed(inspection, today())
    page = of(visitor(place.people["auditor"]), inspection)
    comparison = queries.option_comparison(inspection)
    assert comparison is not None
    reasons = [reason for one in comparison.result["options"] for reason in one["reasons"]]
    assert reasons
    assert all(reason in page for reason in reasons)
    bettered = sum(bool(one["dominated_by"]) for one in comparison.result["options"])
    assert 0 < bettered < len(rows)
    assert page.count(">Bettered<") == 2 * bettered  # in the table and at the option in full


def test_each_option_shows_its_reasons_residual_risk_commitments_and_cautions(
    place: Town, inspection: Inspection
) -> None:
    lime.proposed(inspection, today())
    page = of(visitor(place.people["public_works"]), inspection)
    said = option(inspection, "reduce_crown").estimates.all()[0].result
    for expected in (*said["cautions"], *(one["due_on"] for one in said["checks"])):
        assert expected in page
    assert "Footway of Quay Road" in page
    assert "Parked cars" in page
    assert "Propose options" not in page
    assert "Record a decision" not in page


def test_the_value_of_a_diagnosis_is_shown_at_three_weights(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    page = of(visitor(place.people["forester"]), inspection)
    assert re.findall(r'<th scope="row" class="num">([\d,]+)\u00a0EUR</th>', page) == [
        "500,000", "5,000,000", "50,000,000",
    ]  # fmt: skip


def test_a_diagnosis_whose_worth_changes_its_sign_is_called_undetermined(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    found = queries.option_comparison(inspection)
    assert found is not None
    found.result["information"] |= {"verdict": "undetermined", "says": "The sign changes between the rates."}
    type(found).objects.filter(pk=found.pk).update(result=found.result)
    assert "Undetermined." in of(visitor(place.people["forester"]), inspection)


def stated(row: Option, **fields: Any) -> dict[str, Any]:
    return {
        "version": row.version,
        "act_by": "",
        "own_cost": "",
        "own_crew_hours": "",
        "own_why": "",
        "note": "",
    } | fields


def test_an_own_figure_stands_beside_the_methods_with_its_reason(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    row, client = option(inspection, "reduce_crown"), visitor(place.people["inspector"])
    address = f"/options/{row.uid}"
    bare = client.post(address, stated(row, own_cost="1234"))
    assert bare.status_code == 400
    assert "say why own_cost differs" in text(bare)
    sent = stated(row, own_cost="1234", own_why="Needs a night shift", impact_0="low")
    assert client.post(address, sent).status_code == 302
    edited = option(inspection, "reduce_crown")
    assert edited.own_residual is not None
    method = edited.estimates.all()[0].result["method_said"]["residual"][0]
    assert edited.own_residual[0]["impact"] == "low"
    assert edited.own_residual[0]["failure"] == method["failure"]
    page = of(client, inspection)
    assert "1,234\u00a0EUR" in page
    assert "Needs a night shift" in page
    assert (
        f"The method says {choices.money(edited.estimates.all()[0].result['method_said']['cost_now'], 'EUR')}" in page
    )
    stale = client.post(address, stated(row, own_cost="1", own_why="again"))
    assert stale.status_code == 400
    assert "Somebody else changed this option" in text(stale)


def test_a_dropped_option_leaves_the_table_with_its_reason_and_comes_back(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    row, client = option(inspection, "temporary_closure"), visitor(place.people["inspector"])
    client.post(f"/options/{row.uid}/drop", {"version": row.version, "dropped_why": ""})
    assert not option(inspection, "temporary_closure").dropped_why
    client.post(f"/options/{row.uid}/drop", {"version": row.version, "dropped_why": "The only way to the school"})
    page = of(client, inspection)
    assert "The only way to the school" in page
    assert f'id="option-{row.uid}"' not in page
    client.post(f"/options/{row.uid}/drop", {"back": "1"})
    assert f'id="option-{row.uid}"' in of(client, inspection)


def test_another_option_is_added_once_and_a_wrong_setting_is_named(place: Town, inspection: Inspection) -> None:
    client, address = visitor(place.people["inspector"]), f"/inspections/{inspection.uid}/options/new"
    sent = {"uid": str(uuid.uuid4()), "kind": "reduce_crown", "percent": "95"}
    wrong = client.post(address, sent)
    assert wrong.status_code == 400
    assert 'id="id_percent_errors"' in text(wrong)
    for _ in range(2):
        assert client.post(address, sent | {"percent": "15", "targets": ["0"]}).status_code == 302
    added = Option.objects.get(inspection=inspection, source="arborist")
    assert added.parameters == {"percent": 15, "targets": [0]}
    assert "for Footway of Quay Road" in of(client, inspection)


def decision(**fields: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "decided_by": "Maren Holt",
        "office": "Head of parks",
        "decided_on": str(today()),
        "why": "It costs least of what helps",
    } | fields


def test_who_keeps_a_tree_at_risk_says_which_and_until_when(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    row, client = option(inspection, "retain_and_monitor"), visitor(place.people["forester"])
    address = f"/options/{row.uid}/decide"
    assert "say in words which risk is accepted" in text(client.get(address))
    bare = client.post(address, decision())
    assert bare.status_code == 400
    assert 'id="id_accepted_risk_errors"' in text(bare)
    until = today() + timedelta(days=180)
    check = {"check-0-kind": "reinspect", "check-0-due_on": str(until), "check-0-why": "the cavity"}
    sent = decision(accepted_risk="High risk to the footway", ends_on=str(until), **check)
    for _ in range(2):
        assert client.post(address, sent).status_code == 302
    taken = Decision.objects.get()
    assert {one.kind for one in RequiredCheck.objects.filter(decision=taken)} == {"reinspect", "decision_end"}
    page = text(client.get(f"/trees/{inspection.tree.uid}"))
    assert "High risk to the footway" in page
    assert "In force" in page


def test_a_check_without_its_day_is_refused_at_its_field(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    row, client = option(inspection, "remove_and_replant"), visitor(place.people["forester"])
    sent = decision(**{"check-0-kind": "reinspect", "check-0-why": "see"})
    answer = client.post(f"/options/{row.uid}/decide", sent)
    assert answer.status_code == 400
    assert 'id="id_check-0-due_on_errors"' in text(answer)
    early = {"check-0-kind": "reinspect", "check-0-why": "see", "check-0-due_on": str(today() - timedelta(days=1))}
    answer = client.post(f"/options/{row.uid}/decide", decision(**early))
    assert "is due before the decision" in text(answer)
    assert not Decision.objects.exists()


def test_a_new_decision_supersedes_and_both_stay_on_the_page(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    client, tree = visitor(place.people["forester"]), f"/trees/{inspection.tree.uid}"
    kept = {"accepted_risk": "High for a while", "ends_on": str(today() + timedelta(days=30))}
    for kind, fields in (("retain_and_monitor", kept), ("remove_and_replant", {"why": "The reading was bad"})):
        client.post(f"/options/{option(inspection, kind).uid}/decide", decision(**fields))
    page = text(visitor(place.people["public_works"]).get(tree))
    assert "Superseded: 1" in page
    assert page.index("The reading was bad") < page.index("It costs least")
    assert "The reading was bad" not in text(visitor().get(tree))
    assert text(client.get("/decisions")).count("Maren Holt") == 1
    assert client.get("/decisions?state=lapsed").status_code == 200
    assert client.get("/decisions?state=other").status_code == 400


def test_a_tree_that_is_gone_has_nothing_left_to_choose(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    row = option(inspection, "reduce_crown")
    remove_tree(SERVICE, inspection.tree, on=today(), reason="felled", stump_ground=False)
    client = visitor(place.people["inspector"])
    assert "nothing can be changed" in of(client, inspection)
    answer = client.post(f"/options/{row.uid}", stated(row, note="late"))
    assert answer.status_code == 400
    assert "nothing left to choose" in text(answer)


@pytest.mark.parametrize(
    ("role", "see", "change", "decide"),
    [
        ("forester", 200, 200, 200),
        ("inspector", 200, 200, 403),
        ("public_works", 200, 403, 403),
        ("auditor", 200, 403, 403),
        ("contractor", 403, 403, 403),
    ],
)
def test_each_role_gets_what_the_interface_gives_it(
    place: Town, inspection: Inspection, role: str, see: int, change: int, decide: int
) -> None:
    lime.proposed(inspection, today())
    row, client = option(inspection, "reduce_crown"), visitor(place.people[role])
    whole = f"/inspections/{inspection.uid}/options"
    assert (client.get(whole).status_code, client.get("/decisions").status_code) == (see, see)
    assert {client.get(f"{whole}/new").status_code, client.get(f"/options/{row.uid}").status_code} == {change}
    assert client.get(f"/options/{row.uid}/decide").status_code == decide
    changed = {client.post(f"{whole}/propose").status_code, client.post(f"/options/{row.uid}/drop").status_code}
    assert changed == ({302} if change == 200 else {403})


def test_the_page_takes_as_many_queries_for_many_options_as_for_few(place: Town, inspection: Inspection) -> None:
    lime.proposed(inspection, today())
    client = visitor(place.people["forester"])

    def counted() -> int:
        with CaptureQueriesContext(connection) as caught:
            of(client, inspection)
        return len(caught)

    few = counted()
    for percent in (12, 14, 16):
        sent = {"uid": str(uuid.uuid4()), "kind": "reduce_crown", "percent": percent}
        assert client.post(f"/inspections/{inspection.uid}/options/new", sent).status_code == 302
    assert counted() == few
