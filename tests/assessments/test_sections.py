"""Sections of an inspection: recorded once, computed by the method, judged with the findings, computed again later."""

import hashlib
import json
from dataclasses import asdict, replace
from typing import Any

import pytest

from assessments import sections, services
from assessments.methods import section as method
from assessments.methods.problems import MethodProblem
from assessments.methods.section import uncertainty
from assessments.models import Finding, Inspection, Section, SectionResult
from assessments.records import FindingRecord, InspectionRecord, fingerprint
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support.work import counting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def cavity(**fields: Any) -> FindingRecord:
    """A cavity of the stem whose wall nobody measured."""
    measures = {"depth_cm": 10.0, **fields.pop("measures", {})}
    return make.finding("cavity", measures=measures, **{"height_m": 0.5} | fields)


OUTSIDE = {"azimuth_deg": 1, "gap_to_edge_cm": 50, "inner_radius_cm": 1}


def reading(azimuth_deg: float, wall_cm: float = 9) -> dict[str, float]:
    return {"azimuth_deg": azimuth_deg, "sound_wall_cm": wall_cm}


def everything() -> list[int]:
    models: list[Any] = [Inspection, Finding, Section, SectionResult, Event]
    return [model.objects.count() for model in models]


def refused(tree: Tree, record: InspectionRecord, *pointers: str) -> None:
    before = everything()
    with pytest.raises(Invalid) as caught:
        services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)


def judged(*given: Any, finding: FindingRecord | None = None, tree: Tree | None = None) -> Any:
    """What is suggested for one finding beside sections."""
    record = make.record(findings=(finding or cavity(),), sections=given)
    return services.preview(tree or build.tree(dbh_cm=75), record, make.TODAY).failure


def test_a_section_is_stored_as_measured_with_what_the_method_made_of_it() -> None:
    sent = measure.section(finding=0)
    inspection = make.inspected(build.tree(), make.record(findings=(cavity(),), sections=(sent,)))
    stored = Section.objects.get(inspection=inspection)
    assert (stored.measured, stored.height_m) == (sent.measured, 0.4)
    assert stored.finding == Finding.objects.get()
    result = SectionResult.objects.get(section=stored)
    assert (result.method, result.version) == (method.METHOD, method.VERSION)
    # Wall 12 of R 38: t/R, and the loss 100 (d/D)^4 of a concentric hollow (closed form of the annulus).
    assert result.result["t_over_r"] == pytest.approx(12 / 38, rel=1e-4)
    assert result.result["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(100 * (26 / 38) ** 4, rel=0.01)
    loss = result.result["modulus"]["loss_percent"]
    assert loss["low"] < loss["best_estimate"] < loss["high"]


def test_the_same_section_again_is_the_same_inspection_and_another_wall_a_conflict() -> None:
    tree, record = build.tree(), make.record(sections=(measure.section(),))
    first, created = services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    before = everything()
    again, created_again = services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    assert (created, created_again, again.pk) == (True, False, first.pk)
    with pytest.raises(Conflict):
        make.inspected(tree, replace(record, sections=(measure.section(12.5),)))
    assert everything() == before


def test_an_inspection_without_sections_keeps_the_fingerprint_that_it_had_before_there_were_any() -> None:
    record = make.rated("moderate", findings=(make.finding(),))
    said = asdict(record)
    del said["sections"], said["stem_load"]
    subject = build.tree().uid
    plain = {"about": subject, "record": said}
    text = json.dumps(
        plain, sort_keys=True, separators=(",", ":"), default=lambda v: getattr(v, "isoformat", v.__str__)()
    )
    assert fingerprint(subject, record) == hashlib.sha256(text.encode()).hexdigest()
    assert fingerprint(subject, replace(record, sections=(measure.section(),))) != fingerprint(subject, record)


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("#/sections/1/readings/3/azimuth_deg", {"readings": [reading(azimuth) for azimuth in (0, 90, 180, 400)]}),
        ("#/sections/1/readings/0/sound_wall_cm", {"readings": [reading(0, -1)]}),
        ("#/sections/1/girth_cm", {"girth_cm": 200.0}),
        ("#/sections/1/cracks/0/gap_to_edge_cm", {"cracks": [OUTSIDE]}),
        ("#/sections/1/openings/0/depth_cm", {"readings": [], "openings": [{"azimuth_deg": 10, "width_cm": 5}]}),
        ("#/sections/1/colour", {"colour": "red"}),
        ("#/sections/1/height_m", {"height_m": None}),
        ("#/sections/1/height_m", {"height_m": 60.0}),
    ],
)  # fmt: skip
def test_a_wrong_measure_is_named_and_nothing_is_changed(pointer: str, changes: dict[str, Any]) -> None:
    wrong = replace(measure.section(), measured=measure.measured(**changes))
    record = make.record(findings=(cavity(),), sections=(measure.section(), wrong))
    refused(build.tree(height_m=20), record, pointer)


def test_a_section_of_a_finding_that_is_not_there_or_one_too_many_is_refused() -> None:
    refused(build.tree(), make.record(sections=(measure.section(finding=0),)), "#/sections/0/finding")
    refused(build.tree(), make.record(sections=(measure.section(),) * (sections.MOST_SECTIONS + 1)), "#/sections")


def test_more_parts_than_are_computed_while_someone_waits_are_refused() -> None:
    cracks = [{"azimuth_deg": 40.0 * n, "gap_to_edge_cm": 1.0, "inner_radius_cm": 30.0} for n in range(9)]
    cracked = replace(measure.section(), measured=measure.measured(cracks=cracks))
    refused(build.tree(), make.record(sections=(cracked, cracked)), "#/sections")


def test_sections_that_are_cut_share_their_draws() -> None:
    cracked = replace(measure.section(), measured=measure.cut())
    make.inspected(build.tree(), make.record(sections=(cracked, cracked, cracked, cracked, measure.section())))
    draws = list(SectionResult.objects.order_by("pk").values_list("draws", flat=True))
    assert draws == [40, 40, 40, 40, sections.DRAWS]


def test_a_thin_wall_read_in_a_section_decides_the_class_of_the_cavity_and_says_so() -> None:
    # USDA NA-TP-03-03 (Pokorny 2003): sound wall at or below one inch in six of diameter; 12 of 76 cm is below it.
    unmeasured, told = judged(), judged(measure.section(finding=0))
    assert (unmeasured.category, told.category) == ("possible", "probable")
    assert unmeasured.missing.field == "measures.shell_cm"
    reason = told.by_finding[0].reasons[-1]
    assert "section at 0.4 m: thinnest sound wall 12.0 cm of a stem of 76 cm without bark" in reason.text
    assert "shell one in six" in reason.text
    assert reason.source == f"{method.METHOD}/{method.VERSION}"
    assert reason in told.reasons


def test_a_thick_wall_read_in_a_section_leaves_the_cavity_in_the_lower_class() -> None:
    assert judged(measure.section(30.0, finding=0)).category == "possible"
    assert "section at" in judged(measure.section(30.0, finding=0)).by_finding[0].reasons[-1].text


def test_the_thinnest_of_several_sections_counts() -> None:
    assert judged(measure.section(30.0, finding=0), measure.section(12.0, finding=0)).category == "probable"


def test_a_section_tells_of_the_finding_at_its_height_and_of_no_other() -> None:
    assert judged(measure.section(), finding=cavity(height_m=0.5)).category == "probable"
    assert judged(measure.section(), finding=cavity(height_m=3.0)).category == "possible"
    assert judged(measure.section(), finding=cavity(height_m=None)).category == "possible"
    limb = cavity(part="limb", height_m=0.5)
    assert judged(measure.section(), finding=limb).category == "possible"
    long = cavity(height_m=1.2, measures={"opening_height_cm": 160.0})
    assert judged(measure.section(), finding=long).category == "probable"


def test_a_wall_measured_at_the_finding_itself_is_not_replaced() -> None:
    sounded = cavity(measures={"shell_cm": 25.0})
    assert judged(measure.section(finding=0), finding=sounded).category == "possible"


def test_an_outline_alone_tells_of_no_wall() -> None:
    outline = replace(measure.section(finding=0), measured=measure.measured(readings=[]))
    assert judged(outline).missing.field == "measures.shell_cm"


def test_a_rating_that_differs_from_what_the_section_suggests_says_why() -> None:
    rated = make.rated("low", findings=(cavity(),), sections=(measure.section(finding=0),))
    silent = replace(rated, ratings=(replace(rated.ratings[0], failure="possible", finding=0, why_different=""),))
    refused(build.tree(dbh_cm=75), silent, "#/ratings/0/why_different")


def test_a_cracked_and_open_section_is_cut_as_often_as_it_says_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    cuts = counting(monkeypatch, uncertainty, "residual")
    make.inspected(build.tree(), make.record(sections=(replace(measure.section(), measured=measure.cut()),)))
    assert SectionResult.objects.get().draws == sections.CUT_DRAWS
    # Once more for the small error of the coarser shapes.
    assert len(cuts) == sections.CUT_DRAWS + 1


def test_a_new_version_adds_its_result_and_the_old_one_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    make.inspected(build.tree(), make.record(sections=(measure.section(), measure.section(15.0))))
    assert services.recompute_sections().as_dict() == {"sections_computed": 0, "sections_refused": 0}
    old = {row.section_id: row.result for row in SectionResult.objects.all()}
    monkeypatch.setattr(sections, "VERSION", method.VERSION + 1)
    told: list[tuple[int, int | None]] = []
    done = services.recompute_sections(lambda done, total, step: told.append((done, total)))
    assert (done.sections_computed, told) == (2, [(2, 2)])
    for section in Section.objects.prefetch_related("results"):
        assert sorted(row.version for row in section.results.all()) == [method.VERSION, method.VERSION + 1]
        assert section.results.get(version=method.VERSION).result == old[section.pk]
    assert services.recompute_sections().sections_computed == 0


def test_a_section_that_a_new_version_refuses_keeps_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    make.inspected(build.tree(), make.record(sections=(measure.section(), measure.section(15.0))))
    first = Section.objects.order_by("pk")[0]
    monkeypatch.setattr(sections, "VERSION", method.VERSION + 1)
    compute = sections.compute

    def picky(measured: Any) -> sections.Computed:
        if measured["readings"][0]["sound_wall_cm"] == 12:
            raise MethodProblem("/readings/0", "is refused now")
        return compute(measured)

    monkeypatch.setattr(sections, "compute", picky)
    assert services.recompute_sections().as_dict() == {"sections_computed": 1, "sections_refused": 1}
    assert [row.version for row in first.results.all()] == [method.VERSION]


def test_many_sections_take_as_many_queries_as_few(
    django_assert_num_queries: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    make.inspected(build.tree(), make.record(sections=(measure.section(),)))
    monkeypatch.setattr(sections, "VERSION", method.VERSION + 1)
    with django_assert_num_queries(4):  # how many, the block, its results, no further block
        services.recompute_sections()
    make.inspected(
        build.tree(2), make.record(sections=(measure.section(), measure.section(15.0), measure.section(9.0)))
    )
    monkeypatch.setattr(sections, "VERSION", method.VERSION + 2)
    with django_assert_num_queries(4):
        services.recompute_sections()
