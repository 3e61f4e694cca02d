"""Stem loads on the page of a tree: figures by height, the critical gust and what it is held against, the methods."""

from typing import Any

import pytest

from assessments import services, stem_loads
from assessments.models import StemLoadResult
from inventory.history import SERVICE
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support import stem_loads as loading
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def inspected(place: Town, **fields: Any) -> StemLoadResult:
    given: dict[str, Any] = {"sections": (measure.section(4.0),), "stem_load": loading.stem_load()} | fields
    on = today()
    record = make.record(on, inspected_at=make.noon(on), **given)
    services.record_inspection(SERVICE, place.trees["H1"], record, on)
    return StemLoadResult.objects.get()


def page(place: Town, role: str = "inspector") -> str:
    answer = visitor(place.people[role]).get(f"/trees/{place.trees['H1'].uid}")
    return " ".join(text(answer).replace("\u00a0", " ").split())


def test_the_page_shows_the_load_with_its_figures_and_where_they_come_from(place: Town) -> None:
    loading.windy()
    row = inspected(place)
    said = page(place)
    gust, first = row.result["critical_gust"], row.result["sections"][0]
    assert f"{gust['best']:.1f} m/s</span>, 80 % band {gust['low']:.1f} m/s to {gust['high']:.1f} m/s" in said
    assert "22 m/s once a year, 36 m/s once in 50 years" in said
    assert f"{first['moment_knm']:.0f} kN m" in said
    assert f"{first['stress_mpa']:.1f} MPa" in said
    factor = first["safety_factor"]
    assert f"{factor['low']:.2f} – {factor['best']:.2f} – {factor['high']:.2f}" in said
    assert "In a gust of 33.0 m/s" in said
    assert f'src="/api/v1/inspections/{row.stem_load.inspection.uid}/stem-load.svg"' in said
    assert f"Method {row.method}, version {row.version}, with {row.rests_on}" in said
    assert "From the record of the tree" in said


def test_a_gust_beyond_what_is_measured_is_only_said_to_be_more(place: Town) -> None:
    low = loading.stem_load(height_m=8.0, crown_base_m=2.0, crown_width_m=3.0)
    inspected(place, sections=(), stem_load=low)
    said = page(place)
    assert "&gt;45 m/s" in said
    assert "not set: the city&#x27;s policy says nothing of its gusts" in said
    assert "stem-load.svg" not in said


def test_who_may_not_see_assessments_sees_no_load(place: Town) -> None:
    inspected(place)
    answer = visitor(place.people["contractor"]).get(f"/trees/{place.trees['H1'].uid}")
    assert "Wind load on the stem" not in text(answer)
    assert "Wind load on the stem" not in text(visitor(None).get(f"/trees/{place.trees['H1'].uid}"))


def test_an_older_result_is_told_beside_the_newest(place: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    inspected(place)
    old = stem_loads.VERSION
    monkeypatch.setattr(stem_loads, "VERSION", old + 1)
    services.recompute_stored()
    assert f"Kept: version {old} of static stem load: critical gust" in page(place, "auditor")
