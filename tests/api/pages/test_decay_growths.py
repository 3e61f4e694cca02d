"""Decay over the years on the page of a tree: the sentence, the band, the date among the rules, older results."""

from typing import Any

import pytest

from assessments import decay_growths, services
from assessments.methods import decay_growth as method
from assessments.models import DecayGrowth
from inventory.history import SERVICE
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db

CAVITY = make.finding("cavity", "stem", height_m=0.4, measures={"depth_cm": 30.0})


def inspected(place: Town, **fields: Any) -> DecayGrowth:
    given: dict[str, Any] = {"sections": (measure.section(5.0, finding=0),), "findings": (CAVITY,)} | fields
    on = today()
    record = make.record(on, inspected_at=make.noon(on), level="advanced", **given)
    made, _ = services.record_inspection(SERVICE, place.trees["H1"], record, on)
    return DecayGrowth.objects.get(inspection=made)


def page(place: Town, role: str = "inspector") -> str:
    answer = visitor(place.people[role]).get(f"/trees/{place.trees['H1'].uid}")
    return " ".join(text(answer).replace("\u00a0", " ").split())


def test_the_page_says_when_the_threshold_is_met_and_shows_the_band(place: Town) -> None:
    row = inspected(place)
    said = page(place)
    assert "The chance that t/R 0.3 is met reaches 20 % already when it was measured" in said
    assert row.section is not None
    assert f'src="/api/v1/decay-growths/{row.section.uid}/picture.svg"' in said
    assert "Decay measured inside" in said  # among the rules of the date
    assert "measure it again" in said
    assert f"Method {row.method}, version {row.version}, with {row.rests_on}" in said


def test_a_rot_of_the_root_collar_says_what_to_do_first_and_has_no_band(place: Town) -> None:
    rot = make.finding("decay", "root_collar")
    row = inspected(place, sections=(), findings=(rot,))
    said = page(place)
    assert "The root collar is to be examined" in said
    assert row.finding is not None
    assert f"decay-growths/{row.finding.uid}" not in said
    assert "Root collar examination" in said  # the check that it asked for


def test_what_an_older_version_made_of_it_stays_in_sight(place: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    inspected(place)
    monkeypatch.setattr(decay_growths, "VERSION", method.VERSION + 1)
    services.recompute_growths()
    assert f"Kept: version {method.VERSION} with " in page(place)


def test_who_may_not_see_assessments_sees_no_decay(place: Town) -> None:
    inspected(place)
    answer = visitor(place.people["contractor"]).get(f"/trees/{place.trees['H1'].uid}")
    assert "Decay over the coming years" not in text(answer)
