"""Sections on the page of a tree: the picture, the figures with their interval, the rules, method and version."""

import pytest

from assessments import sections, services
from assessments.models import Section
from tests.support.pages import Town, text, visitor

pytestmark = pytest.mark.django_db


def test_the_page_shows_each_section_with_its_figures_and_where_they_come_from(place: Town) -> None:
    section = Section.objects.get()
    row = section.results.get()
    page = visitor(place.people["inspector"]).get(f"/trees/{place.trees['H1'].uid}")
    said = " ".join(text(page).replace("\u00a0", " ").split())
    loss = row.result["modulus"]["loss_percent"]
    assert f'src="/api/v1/sections/{section.uid}/picture.svg"' in said
    assert "Section at 0.4 m, of the decay at the stem" in said
    assert f"80 % interval {loss['low']:.0f} to {loss['high']:.0f} %" in said
    assert f"{row.result['thinnest_wall_cm']:.1f} cm" in said
    assert "Does not apply because" in said
    assert f"Method {row.method}, version {row.version}" in said
    assert f"interval from {sections.CUT_DRAWS} draws" in said


def test_who_may_not_see_assessments_sees_no_section(place: Town) -> None:
    for person in (None, place.people["contractor"]):
        assert "picture.svg" not in text(visitor(person).get(f"/trees/{place.trees['H1'].uid}"))


def test_an_older_result_is_told_beside_the_newest(place: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    old = sections.VERSION
    monkeypatch.setattr(sections, "VERSION", old + 1)
    services.recompute_sections()
    said = text(visitor(place.people["auditor"]).get(f"/trees/{place.trees['H1'].uid}"))
    assert f"version {old + 1}, computed" in said
    assert f"Kept: version {old} of residual section by polygons" in said


def test_lengths_are_said_in_the_units_of_the_reader(place: Town) -> None:
    person = place.people["inspector"]
    person.units = "us"
    person.save()
    said = text(visitor(person).get(f"/trees/{place.trees['H1'].uid}")).replace("\u00a0", " ")
    assert "Section at 1.31 ft" in said
    assert f"{Section.objects.get().results.get().result['thinnest_wall_cm'] / 2.54:.2f} in" in said
