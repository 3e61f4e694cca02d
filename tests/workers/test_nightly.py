"""The nightly pass: what an older version computed is computed again, and opened stems are learned from."""

from io import StringIO

import pytest
from django.core.management import call_command

from assessments import sections
from assessments.models import Calibration, SectionResult
from tests.support import build
from tests.support import calibrations as opening
from tests.support import inspections as make
from tests.support import sections as measure
from workers import tasks

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch) -> int:
    """A section that the version before this one computed."""
    make.inspected(build.tree(), make.record(sections=(measure.section(),)))
    version = sections.VERSION + 1
    monkeypatch.setattr(sections, "VERSION", version)
    return version


def test_the_nightly_pass_computes_sections_again_once(newer: int) -> None:
    tasks.recompute_all()
    tasks.recompute_all()
    assert list(SectionResult.objects.order_by("pk").values_list("version", flat=True)) == [newer - 1, newer]


def test_a_recompute_by_hand_says_how_many_sections_it_computed(newer: int) -> None:
    said = StringIO()
    call_command("recompute", stdout=said)
    assert "sections_computed 1" in said.getvalue()
    assert SectionResult.objects.filter(version=newer).count() == 1


def test_the_nightly_pass_learns_from_opened_stems_once() -> None:
    opened = opening.opened_row(5)
    tasks.recompute_all()
    tasks.recompute_all()
    assert [(one.version, one.trees) for one in Calibration.objects.all()] == [(1, len(opened))]


def test_the_nightly_pass_makes_no_calibration_before_the_first_dissection() -> None:
    tasks.recompute_all()
    assert not Calibration.objects.exists()
