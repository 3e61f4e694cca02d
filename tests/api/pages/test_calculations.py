"""The pages of calculations: each kind's example typed and answered, wrong fields told in place, who may."""

import json
from html import unescape

import pytest

from api.pages.calculation_forms import CalculationForm, example
from assessments.calculations import KINDS
from tests.support.pages import Town, text, visitor

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("name", KINDS)
def test_the_example_typed_into_the_form_gives_the_example_back(name: str) -> None:
    form = CalculationForm(KINDS[name], example(KINDS[name]))
    assert form.is_valid(), form.errors
    assert json.loads(json.dumps(form.request)) == json.loads(json.dumps(KINDS[name].example))


@pytest.mark.parametrize("name", KINDS)
def test_each_kind_is_asked_and_answered_on_its_page(place: Town, name: str) -> None:
    client = visitor(place.people["inspector"])
    empty = client.get(f"/calculate/{name}")
    assert empty.status_code == 200
    assert 'aria-current="page">Calculate' in text(empty)
    assert text(client.get(f"/calculate/{name}?example")) != text(empty)
    page = client.post(f"/calculate/{name}", example(KINDS[name]))
    assert page.status_code == 200
    shown = unescape(text(page))
    assert page.context["shown"].method in shown
    assert all(caution in shown for caution in KINDS[name].cautions)
    assert shown.count("never a verdict that a tree is safe. Local codes, climbing") == 1
    assert ("<svg xmlns" in shown) == KINDS[name].drawn


def test_a_wrong_field_is_told_at_its_field_with_its_row(place: Town) -> None:
    typed = {"diameter_cm": "80", "readings": "0, 12\n90, -3\n180, x"}
    page = visitor(place.people["forester"]).post("/calculate/section", typed)
    assert page.status_code == 400
    told = page.context["form"].errors["readings"]
    assert any("row 2, sound wall (cm): must be" in one for one in told)
    assert any("row 3, sound wall (cm): must be a number" in one for one in told)


@pytest.mark.parametrize(
    ("name", "typed", "field", "told"),
    [
        ("section", {"diameter_cm": "nan"}, "diameter_cm", "must be more than 0"),
        ("section", {"diameter_cm": "80", "readings": "1, 2, 3, 4, 5, 6"}, "readings", "a line has 6 values"),
        ("section", {"diameter_cm": "80", "voids_cm": "[[1"}, "voids_cm", "not valid JSON"),
        ("section", {"diameter_cm": "80", "draws": "1.5"}, "draws", "must be a whole number"),
        ("decay-growth", {"diameter_cm": "60"}, "position", "required"),
        ("decay-growth", {"diameter_cm": "60", "position": '"stem"', "wound__width_cm": "-1"}, "wound__width_cm",
         "must be more than 0"),
        ("decay-growth", {"diameter_cm": "60", "position": '"twig"'}, "position", "Select a valid choice"),
    ],
)  # fmt: skip
def test_wrong_input_is_told(place: Town, name: str, typed: dict[str, str], field: str, told: str) -> None:
    page = visitor(place.people["forester"]).post(f"/calculate/{name}", typed)
    assert page.status_code == 400
    assert told in " ".join(page.context["form"].errors[field])


def test_an_unknown_kind_is_a_problem_page(place: Town) -> None:
    assert visitor(place.people["forester"]).get("/calculate/volume").status_code == 404


@pytest.mark.parametrize("role", ["forester", "inspector", "public_works"])
def test_the_list_is_in_the_navigation_of_those_who_may(place: Town, role: str) -> None:
    client = visitor(place.people[role])
    assert 'href="/calculate"' in text(client.get("/"))
    assert all(f"/calculate/{name}" in text(client.get("/calculate")) for name in KINDS)


@pytest.mark.parametrize("role", ["contractor", "auditor"])
def test_others_may_not(place: Town, role: str) -> None:
    client = visitor(place.people[role])
    assert 'href="/calculate"' not in text(client.get("/"))
    assert client.get("/calculate").status_code == 403
    assert client.post("/calculate/risk", {}).status_code == 403
