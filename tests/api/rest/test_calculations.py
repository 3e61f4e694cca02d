"""Stateless calculations through HTTP: contracts as the clients rely on them, pictures, problems within a second."""

import json
import math
import time
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from assessments import services
from assessments.calculations import KINDS
from assessments.methods.policy import default_policy_text
from inventory.history import SERVICE
from tests.support.http import V1, as_role, pointers, problem

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def ask(kind: str, request: Any, role: str | None = "inspector", **headers: str) -> HttpResponse:
    answer: HttpResponse = as_role(role).post(f"{V1}/calculations/{kind}", request, format="json", headers=headers)
    return answer


def found(kind: str, request: Any) -> dict[str, Any]:
    answer = ask(kind, request)
    assert answer.status_code == 200, answer.content
    content: dict[str, Any] = json.loads(answer.content)
    return content


def raw(kind: str, text: str) -> HttpResponse:
    client = as_role("forester")
    answer: HttpResponse = client.generic("POST", f"{V1}/calculations/{kind}", text, content_type="application/json")
    return answer


def test_the_list_holds_every_kind_with_schemas_and_an_example() -> None:
    content = as_role("public_works").get(f"{V1}/calculations").json()
    assert [item["name"] for item in content["items"]] == list(KINDS)
    assert "never a verdict" in content["caution"]
    for item in content["items"]:
        assert item["address"] == f"{V1}/calculations/{item['name']}"
        assert item["input"]["properties"]
        assert item["cautions"]
        assert found(item["name"], item["example"])["method"]


@pytest.mark.parametrize("role", ["contractor", "auditor", None])
def test_others_may_not_calculate(role: str | None) -> None:
    answer = ask("risk", KINDS["risk"].example, role)
    problem(answer, *((401, "not-signed-in") if role is None else (403, "not-allowed")))


def test_the_section_contract() -> None:
    """A concentric hollow of t/R 0.30: W loss 0.7^4 = 24.01 % (closed form)."""
    readings = [{"azimuth_deg": azimuth, "sound_wall_cm": 12, "error_cm": 1} for azimuth in range(0, 360, 45)]
    content = found(
        "section", {"diameter_cm": 84, "bark_cm": 2, "height_m": 1, "readings": readings, "draws": 200, "seed": 3}
    )
    assert content["gross_area_cm2"] == pytest.approx(math.pi * 40**2, rel=1e-4)
    assert content["sound_area_cm2"] == pytest.approx(math.pi * (40**2 - 28**2), rel=1e-3)
    assert content["t_over_r"] == pytest.approx(0.30, abs=1e-3)
    loss = content["modulus"]["loss_percent"]
    assert loss["best_estimate"] == pytest.approx(24.01, abs=0.05)
    assert loss["low95"] <= loss["low"] <= loss["best_estimate"] <= loss["high"] <= loss["high95"]
    assert 0 <= content["modulus"]["worst_azimuth_deg"] < 180
    assert 0 <= content["compression_azimuth_deg"] < 360
    assert set(content["rules"]) >= {"wagener", "coder", "smiley_fraedrich", "t_over_r"}
    assert (content["open"], content["closed"], content["pieces"]) == (False, True, 1)
    assert {"thinnest_wall_cm", "largest_loss", "notes", "method", "version"} <= set(content)


def test_the_stem_load_contract() -> None:
    content = found("stem-load", KINDS["stem-load"].example)
    for row in content["sections"]:
        factor = row["safety_factor"]
        assert factor["low"] <= factor["best"] <= factor["high"]
        assert {"height_m", "moment_knm", "stress_mpa"} <= set(row)
    assert {"weakest_height_m", "critical_gust_m_s"} <= set(content)


def test_the_log_mass_contract() -> None:
    """A cylinder of 40 cm and 3 m at 1000 kg/m3: 0.37699 m3, 377.0 kg (closed form)."""
    ends = [{"height_m": 0, "diameter_cm": 40}, {"height_m": 3, "diameter_cm": 40}]
    content = found(
        "log-mass", {"green_density_kg_m3": 1000, "sections": ends, "limit_kg": 200, "density_margin": 0.15}
    )
    assert content["total_kg"] == pytest.approx(377.0, abs=0.1)
    assert [set(piece) >= {"from_m", "to_m", "mass_kg", "upper_kg"} for piece in content["pieces"]] == [True] * 3
    assert all(piece["upper_kg"] < 200 for piece in content["pieces"])


def test_the_root_zone_contract() -> None:
    """AS 4970: dbh 0.65 m, root crown 0.75 m: 7.8 m, 191.13 m2, 2.933 m."""
    content = found("root-zone", {"dbh_cm": 65, "root_crown_diameter_cm": 75, "standard": "as4970", "edition": "2009"})
    assert content["radius_m"] == pytest.approx(7.8)
    assert content["area_m2"] == pytest.approx(191.13)
    assert content["structural_radius_m"] == pytest.approx(2.933)
    assert "encroached_percent" not in content
    asked = KINDS["root-zone"].example | {"standard": "bs5837", "edition": "2012"}
    content = found("root-zone", asked)
    assert content["class"] == "no share set; justify, with arboricultural supervision"
    assert 0 < content["encroached_percent"] < 50


def test_the_risk_contract() -> None:
    """ISA BMP 2017: probable x high: likely; likely x severe: high."""
    words = {"likelihood_of_failure": "probable", "consequences": "severe"}
    for impact in ({"likelihood_of_impact": "high"}, {"occupancy": "constant", "exposure": "full"}):
        content = found("risk", words | impact)
        assert (content["failure_and_impact"], content["risk"]) == ("likely", "high")


def test_the_support_and_decay_contracts() -> None:
    """Support: 50 kN m over 10 m at 20 degrees: 5.3209 kN (worked by hand)."""
    content = found(
        "support", {"union_height_m": 5, "crown_top_m": 20, "leaders": [{"moment_knm": 50, "angle_deg": 20}]}
    )
    assert content["tension_kn"] == pytest.approx(5.3209, abs=1e-4)
    content = found("decay-growth", KINDS["decay-growth"].example)
    years = len(content["band"]["years"])
    assert {len(content["band"]["t_over_r"][name]) for name in ("low", "median", "high")} == {years}


def test_decay_growth_takes_the_threshold_of_the_policy_where_the_request_says_nothing() -> None:
    rule = {"least_t_over_r": 0.25, "chance_percent": 35, "crossed_months": 6}
    services.adopt_policy(SERVICE, json.loads(default_policy_text()) | {"decay_growth": rule}, "a rule of our own")
    asked = {"position": "stem", "diameter_cm": 62, "measurements": [{"sound_wall_cm": 10.5}]}
    content = found("decay-growth", asked)
    assert (content["threshold"]["t_over_r"], content["chance_percent"]) == (0.25, 35)
    assert sum("policy" in note for note in content["notes"]) == 2
    content = found("decay-growth", asked | {"threshold": {"t_over_r": 0.3}})
    assert content["threshold"]["t_over_r"] == 0.3


@pytest.mark.parametrize("kind", [name for name, one in KINDS.items() if one.drawn])
def test_a_picture_comes_by_parameter_or_accept_header(kind: str) -> None:
    by_parameter = as_role("forester").post(f"{V1}/calculations/{kind}?picture=svg", KINDS[kind].example, format="json")
    by_header = ask(kind, KINDS[kind].example, Accept="image/svg+xml")
    for answer in (by_parameter, by_header):
        assert answer.status_code == 200, answer.content
        assert answer["Content-Type"].startswith("image/svg+xml")
        assert answer.content.startswith(b"<svg")
    assert by_parameter.content == by_header.content


def test_where_there_is_no_picture_that_is_told() -> None:
    answer = as_role("forester").post(f"{V1}/calculations/risk?picture=svg", KINDS["risk"].example, format="json")
    assert pointers(problem(answer, 400, "invalid")) == {"?picture"}
    problem(ask("risk", KINDS["risk"].example, Accept="image/svg+xml"), 406, "not-acceptable")
    bare = {name: value for name, value in KINDS["stem-load"].example.items() if name != "sections"}
    answer = as_role("forester").post(f"{V1}/calculations/stem-load?picture=svg", bare, format="json")
    assert pointers(problem(answer, 400, "invalid")) == {"?picture"}


HOSTILE = [
    ("section", '{"diameter_cm": -1}', {"#/diameter_cm"}),
    ("section", '{"diameter_cm": NaN}', {"#/diameter_cm"}),
    ("section", '{"diameter_cm": 1e400}', {"#/diameter_cm"}),
    ("section", '{"diameter_cm": 80, "readings": [{"azimuth_deg": 0, "sound_wall_cm": 9, "method": []}]}',
     {"#/readings/0/method"}),
    ("section", '{"outline_cm": [[0, 0], [10, 10], [10, 0], [0, 10]]}', {"#/outline_cm"}),
    ("section", '{"diameter_cm": 80, "cracks": [{"azimuth_deg": 0, "gap_to_edge_cm": 50, "inner_radius_cm": 10}]}',
     None),
    ("section", json.dumps({"diameter_cm": 80, "readings": [{"azimuth_deg": 1, "sound_wall_cm": 9}] * 90_000}),
     {"#/readings"}),
    ("decay-growth", '{"diameter_cm": 60, "position": "stem", "measurements": [{"sound_wall_cm": Infinity}]}',
     {"#/measurements/0/sound_wall_cm"}),
    ("support", json.dumps({"union_height_m": 5, "crown_top_m": 20, "leaders": [{"moment_knm": 1}] * 100_000}),
     {"#/leaders"}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "text", "places"), HOSTILE, ids=[str(n) for n in range(len(HOSTILE))])
def test_hostile_input_is_a_problem_that_names_the_field_within_a_second(
    kind: str, text: str, places: set[str] | None
) -> None:
    start = time.process_time()
    refused = problem(raw(kind, text), 400, "invalid")
    assert time.process_time() - start < 1
    named = pointers(refused)
    assert named == places if places else all(one.startswith("#/cracks/0") for one in named)


@pytest.mark.parametrize("text", ["[" * 100_000, '{"a":' * 50_000, "{", '{"a": 1, "a": 2}'])
def test_what_is_no_json_is_unreadable_within_a_second(text: str) -> None:
    start = time.process_time()
    problem(raw("section", text), 400, "unreadable")
    assert time.process_time() - start < 1


def test_a_body_beyond_the_limit_is_too_large() -> None:
    problem(raw("section", '{"diameter_cm": 80, "readings": [' + "0," * 2_200_000 + "0]}"), 413, "too-large")


def test_no_body_at_all_lacks_what_is_needed() -> None:
    assert pointers(problem(raw("section", ""), 400, "invalid")) == {"#/diameter_cm"}


def test_an_unknown_kind_is_told_with_those_there_are() -> None:
    assert "root-zone" in problem(ask("volume", {}), 404, "not-found")["detail"]


def test_nothing_is_read_from_a_form() -> None:
    client = as_role("forester")
    answer = client.post(f"{V1}/calculations/risk", "likelihood_of_failure=probable", content_type="text/plain")
    problem(answer, 415, "media-type")


def test_a_session_needs_its_token_as_everywhere(client: Client) -> None:
    assert client.post(f"{V1}/calculations/risk", {}, content_type="application/json").status_code == 401
