"""Mappings kept under a name: saved again they are replaced; the likest headings come first."""

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as some

from inventory.history import SERVICE
from inventory.intake import mapping as mappings
from inventory.intake import saved
from inventory.models import Event, IntakeMapping
from inventory.problems import Invalid, Missing
from tests.support import build
from tests.support.intake import HEADING, MAPPING

pytestmark = pytest.mark.django_db


def test_a_mapping_saved_again_under_its_name_is_replaced() -> None:
    first = saved.save(SERVICE, "Street trees", mappings.parse(MAPPING))
    changed = MAPPING.replace('unit = "in"', 'unit = "cm"')
    second = saved.save(SERVICE, " Street  trees ", mappings.parse(changed))
    assert (second.uid, IntakeMapping.objects.count()) == (first.uid, 1)
    assert mappings.parse(saved.named("Street trees").mapping) == mappings.parse(changed)
    saved.remove(SERVICE, first.uid)
    kinds = list(Event.objects.order_by("id").values_list("kind", flat=True))
    assert kinds == ["intake.mapping_saved", "intake.mapping_saved", "intake.mapping_removed"]
    with pytest.raises(Missing):
        saved.one(first.uid)
    with pytest.raises(Missing):
        saved.named("Street trees")
    with pytest.raises(Missing):
        saved.remove(SERVICE, uuid.uuid4())


@pytest.mark.parametrize("name", ["", "   ", "x" * 101, "a\0b", "a\u202eb"])
def test_a_name_that_is_none_is_refused(name: str) -> None:
    with pytest.raises(Invalid):
        saved.save(SERVICE, name, mappings.parse(MAPPING))
    assert not IntakeMapping.objects.exists()


def test_the_likest_headings_come_first_and_unlike_ones_not_at_all() -> None:
    build.municipality()
    mapping = mappings.parse(MAPPING)
    saved.save(SERVICE, "all", mapping, HEADING)
    saved.save(SERVICE, "more", mapping, [*HEADING, "one", "two"])
    saved.save(SERVICE, "other", mapping, [f"column {n}" for n in range(30)])
    found = saved.fitting([heading.upper() for heading in HEADING])
    assert [(fit.name, fit.alike) for fit in found] == [("all", 1.0), ("more", len(HEADING) / (len(HEADING) + 2))]
    assert saved.fitting([]) == []


@given(some.permutations(HEADING))
def test_the_order_of_the_columns_does_not_matter(headings: list[str]) -> None:
    saved.save(SERVICE, "all", mappings.parse(MAPPING), HEADING)
    assert [fit.alike for fit in saved.fitting(headings)] == [1.0]
