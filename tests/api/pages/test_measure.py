"""The measuring page: rows as they are typed, computed and drawn before saving, kept with a new inspection."""

import uuid
from typing import Any

import pytest

from assessments.models import Inspection, Section, StemLoad
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def typed(**more: str) -> dict[str, Any]:
    walls = ("12", "18", "9", "15", "20", "11", "14", "8")
    rows = {f"readings-{n}-sound_wall_cm": wall for n, wall in enumerate(walls)}
    rows |= {f"readings-{n}-azimuth_deg": str(45 * n) for n in range(8)}
    whole = {"uid": str(uuid.uuid4()), "seen_on": today().isoformat(), "about": "decay", "method": "drilling"}
    sizes = {"height_m": "0.6", "diameter_cm": "80", "bark_cm": "2"}
    return whole | sizes | rows | more


def url(place: Town) -> str:
    return f"/trees/{place.trees['H1'].uid}/measure"


def test_what_is_typed_is_computed_and_drawn_and_nothing_is_stored(place: Town) -> None:
    before = Inspection.objects.count()
    answer = visitor(place.people["inspector"]).post(url(place), typed(compute="1"))
    said = text(answer)
    assert answer.status_code == 200
    assert "Computed, not kept yet" in said
    assert "<svg" in said
    assert "Decay over the coming years" in said
    assert "Keep with a new inspection" in said
    assert Inspection.objects.count() == before


def test_what_is_kept_is_one_inspection_however_often_it_is_sent(place: Town) -> None:
    sent = typed(keep="1", **{"load-crown_base_m": "4", "load-crown_width_m": "9", "load-height_m": "16"})
    client = visitor(place.people["inspector"])
    for _ in range(2):
        answer = client.post(url(place), sent)
        assert answer.status_code == 302, text(answer)
    made = Inspection.objects.get(uid=sent["uid"])
    section = Section.objects.get(inspection=made)
    assert section.measured["readings"][2] == {"azimuth_deg": 90.0, "sound_wall_cm": 9.0, "method": "drilling"}
    assert section.finding is not None
    assert StemLoad.objects.get(inspection=made).measured["crown_base_m"] == 4.0


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("readings-3-azimuth_deg", "400"),
        ("readings-3-sound_wall_cm", "-1"),
        ("readings-3-sound_wall_cm", "thick"),
        ("readings-3-sound_wall_cm", "1e400"),
        ("readings-3-sound_wall_cm", "nan"),
        ("diameter_cm", "0"),
        ("height_m", ""),
    ],
)
def test_a_wrong_value_is_told_at_its_field_and_nothing_is_kept(place: Town, name: str, value: str) -> None:
    before = Inspection.objects.count()
    answer = visitor(place.people["inspector"]).post(url(place), typed(keep="1", **{name: value}))
    assert answer.status_code == 400
    assert f'id="id_{name}_errors"' in text(answer)
    assert Inspection.objects.count() == before


def test_more_rows_are_given_and_what_was_typed_stays(place: Town) -> None:
    said = text(visitor(place.people["inspector"]).post(url(place), typed(**{"more-readings": "1"})))
    assert 'name="readings-15-azimuth_deg"' in said
    assert 'value="315"' in said


def test_only_who_may_record_inspections_may_measure(place: Town) -> None:
    assert visitor(place.people["contractor"]).get(url(place)).status_code == 403
