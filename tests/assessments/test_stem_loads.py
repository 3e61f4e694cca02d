"""Stem loads of inspections: recorded once, filled up, computed with the sections, judged, computed again later."""

from dataclasses import replace
from typing import Any

import pytest

from assessments import calculations, queries, sections, services, stem_loads
from assessments.methods import stem_load as method
from assessments.methods.problems import MethodProblem
from assessments.methods.section import uncertainty
from assessments.models import Inspection, Rating, Section, SectionResult, StemLoad, StemLoadResult
from assessments.records import InspectionRecord, StemLoadRecord, fingerprint
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support import stem_loads as loading
from tests.support.query_counts import counted
from tests.support.work import counting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]

LEAN = make.finding("lean", measures={"type": "natural", "angle_deg": 10.0})


def everything() -> list[int]:
    models: list[Any] = [Inspection, Section, SectionResult, StemLoad, StemLoadResult, Event]
    return [model.objects.count() for model in models]


def refused(tree: Tree, record: InspectionRecord, *pointers: str) -> None:
    before = everything()
    with pytest.raises(Invalid) as caught:
        services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)


def suggested(*findings: Any, wall_cm: float = 4.0, **fields: Any) -> Any:
    """What is suggested beside a hollow stem; the thinner the wall, the lower its critical gust."""
    given: dict[str, Any] = {
        "sections": (measure.section(wall_cm),),
        "stem_load": loading.stem_load(),
        "findings": findings,
    }
    return services.preview(build.tree(dbh_cm=75), make.record(**given | fields), make.TODAY)


def test_a_stem_load_is_stored_as_sent_with_what_stood_in_and_what_the_method_made_of_it() -> None:
    record = make.record(sections=(measure.section(),), stem_load=loading.stem_load(crown_width_m=None))
    refused(build.tree(), record, "#/stem_load/crown_width_m")
    record = make.record(sections=(measure.section(),), stem_load=loading.stem_load())
    inspection = make.inspected(build.tree(90, dbh_cm=75), record)
    stored = StemLoad.objects.get()
    assert (stored.inspection, stored.measured) == (inspection, loading.measured())
    assert stored.filled["request"] == {"species": "Tilia cordata", "dbh_cm": 75.0}
    assert "From the record of the tree: Tilia cordata, 75 cm thick at breast height." in stored.filled["notes"]
    row = StemLoadResult.objects.get()
    assert (row.method, row.version, row.rests_on) == (method.METHOD, method.VERSION, stem_loads.rests_on())
    assert set(stored.filled["notes"]) <= set(row.result["notes"])


def test_readings_entered_once_give_what_the_calculation_gives_for_the_whole_request() -> None:
    """The same request with the section written into it, computed without any inspection."""
    record = make.record(sections=(measure.section(),), stem_load=loading.stem_load(heights_m=[2.0]))
    make.inspected(build.tree(dbh_cm=75), record)
    place = {"height_m": 0.4, "section": measure.measured(draws=sections.DRAWS)}
    whole = loading.measured(species="Tilia cordata", dbh_cm=75.0, heights_m=[2.0], sections=[place])
    expected = calculations.run(calculations.kind("stem-load"), whole).answer
    found = StemLoadResult.objects.get().result
    for name in ("sections", "weakest", "critical_gust", "strength", "drag", "crown"):
        assert found[name] == expected[name]
    assert [row["basis"] for row in found["sections"]] == ["measured", "sound"]
    loss = SectionResult.objects.get().result["modulus"]["loss_percent"]["best_estimate"]
    assert found["sections"][0]["loss_percent"] == pytest.approx(loss, rel=1e-4)


def test_a_height_that_is_asked_for_takes_the_section_measured_there() -> None:
    load = loading.stem_load(sections=[{"height_m": 0.4}, {"height_m": 3.0, "loss_percent": 10.0}])
    make.inspected(build.tree(), make.record(sections=(measure.section(),), stem_load=load))
    rows = StemLoadResult.objects.get().result["sections"]
    assert [(row["height_m"], row["basis"]) for row in rows] == [(0.4, "measured"), (3.0, "measured")]


def test_the_same_stem_load_again_is_the_same_inspection_and_another_crown_a_conflict() -> None:
    tree, record = build.tree(), make.record(stem_load=loading.stem_load())
    first, created = services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    before = everything()
    again, created_again = services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    assert (created, created_again, again.pk) == (True, False, first.pk)
    with pytest.raises(Conflict):
        make.inspected(tree, replace(record, stem_load=loading.stem_load(crown_width_m=15.0)))
    assert everything() == before
    assert fingerprint(tree.uid, replace(record, stem_load=None)) != fingerprint(tree.uid, record)


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("#/stem_load/crown_base_m", {"crown_base_m": 25.0}),
        ("#/stem_load/crown_width_m", {"crown_width_m": -1.0}),
        ("#/stem_load/crown_shape", {"crown_shape": "cube"}),
        ("#/stem_load/colour", {"colour": "red"}),
        ("#/stem_load/wind/v10_m_s", {"wind": {"v10_m_s": 500.0}}),
        ("#/stem_load/sections", {"sections": "none"}),
        ("#/stem_load/sections/0/loss_percent", {"sections": [{"height_m": 2.0, "loss_percent": 120.0}]}),
        ("#/stem_load/heights_m/0", {"heights_m": [20.0]}),
        ("#/sections/0", {"sections": [{"height_m": 0.4, "loss_percent": 12.0}]}),
    ],
)
def test_a_wrong_member_is_named_and_nothing_is_changed(pointer: str, changes: dict[str, Any]) -> None:
    record = make.record(sections=(measure.section(),), stem_load=loading.stem_load(**changes))
    refused(build.tree(), record, pointer)


def test_what_neither_the_tree_nor_the_request_knows_is_asked_for() -> None:
    refused(build.tree(dbh_cm=None), make.record(stem_load=loading.stem_load()), "#/stem_load/dbh_cm")
    unheard = build.species("Unheardia ignota", genus="Unheardia")
    refused(build.tree(5, species_id=unheard.pk), make.record(stem_load=loading.stem_load()), "#/stem_load/bark_cm")


def test_a_section_that_a_stem_load_cannot_take_is_named_where_it_stands() -> None:
    twice = (measure.section(), measure.section(15.0))
    refused(build.tree(), make.record(sections=twice, stem_load=loading.stem_load()), "#/sections/1/height_m")
    high = replace(measure.section(), measured=measure.measured(height_m=12.5))
    low = loading.stem_load(height_m=12.4)
    refused(build.tree(), make.record(sections=(measure.section(), high), stem_load=low), "#/sections/1/height_m")


def test_without_the_gusts_of_the_city_the_load_says_what_it_lacks_and_suggests_nothing() -> None:
    found = suggested(LEAN)
    assert (found.failure.category, found.stem_load.result["likelihood"]["likelihood_of_failure"]) == (
        suggested(LEAN, stem_load=None).failure.category,
        None,
    )
    told = found.failure.by_finding[0].reasons
    assert any("needs the gust climate" in reason.text for reason in told)
    assert found.failure.basis == "findings"


def test_a_stem_whose_critical_gust_comes_every_year_raises_what_its_findings_suggest() -> None:
    loading.windy()
    findings_alone, found = suggested(LEAN, stem_load=None), suggested(LEAN, wall_cm=2.0)
    gust = found.stem_load.mechanics.gust.best
    assert gust < 22
    assert (findings_alone.failure.category, found.failure.category) == ("improbable", "probable")
    assert found.failure.basis == "both"
    texts = [reason.text for reason in found.failure.by_finding[0].reasons]
    assert f"Critical gust {gust:.1f} m/s" in texts[1]
    assert "Mechanics suggest probable, findings improbable: the worse one stands." in texts


def test_between_both_gusts_possible_is_suggested_and_above_them_improbable() -> None:
    loading.windy()
    hollow = suggested(wall_cm=4.0)
    assert 22 < hollow.stem_load.mechanics.gust.best < 36
    assert (hollow.failure.category, hollow.failure.basis) == ("possible", "mechanics")
    short = suggested(wall_cm=20.0, stem_load=loading.stem_load(height_m=12.0, crown_width_m=6.0))
    assert short.stem_load.mechanics.gust.best > 36
    assert (short.failure.category, short.failure.basis) == ("improbable", "mechanics")


def test_the_worse_finding_stands_beside_a_stem_that_holds() -> None:
    loading.windy()
    cavity = make.finding("cavity", height_m=0.5, measures={"depth_cm": 30.0, "shell_cm": 4.0})
    light = loading.stem_load(height_m=12.0, crown_width_m=4.0)
    found = suggested(cavity, stem_load=light)
    assert found.stem_load.mechanics.category == "improbable"
    assert found.failure.category == suggested(cavity, stem_load=None).failure.category == "probable"


def test_imminent_is_never_suggested_by_calculation() -> None:
    loading.windy(gust_climate={"one_year_m_s": 110.0, "fifty_year_m_s": 120.0})
    found = suggested(wall_cm=1.5)
    assert (found.failure.category, found.emergency) == ("probable", False)


def test_a_load_tells_of_the_stem_and_of_no_other_part() -> None:
    loading.windy()
    limb = make.finding("dead_wood", part="crown", measures={"largest_diameter_cm": 3.0, "crown_percent": 2.0})
    beside, alone = suggested(limb, wall_cm=2.0), suggested(limb, stem_load=None)
    assert beside.failure.by_finding[0] == alone.failure.by_finding[0]
    assert dict(beside.failure.by_part)["stem"] == "probable"


def test_a_rating_keeps_the_suggestion_of_the_load_with_its_reasons_and_differing_from_it_needs_a_reason() -> None:
    loading.windy()
    rated = make.rated("low", sections=(measure.section(2.0),), stem_load=loading.stem_load())
    silent = replace(rated, ratings=(replace(rated.ratings[0], failure="possible", why_different=""),))
    refused(build.tree(dbh_cm=75), silent, "#/ratings/0/why_different")
    make.inspected(build.tree(20, dbh_cm=75), rated)
    row = Rating.objects.get()
    assert (row.failure_suggested, row.suggestion["failure_basis"]) == ("probable", "mechanics")
    assert "below the one-year gust of 22 m/s" in " ".join(one["text"] for one in row.suggestion["failure_reasons"])
    assert row.suggestion["sharpen"]["field"] == "stem_load"
    assert "likelihood_from_critical_gust/1" in row.method_version


def test_the_gust_that_the_city_checks_for_stands_in_and_is_named_and_what_is_sent_wins() -> None:
    loading.windy(check_gust_m_s=40.0)
    found = suggested().stem_load.result
    assert found["wind"]["v10_m_s"] == 40
    assert any("gives the gust to check for: 40 m/s" in note for note in found["notes"])
    sent = suggested(stem_load=loading.stem_load(wind={"v10_m_s": 25.0, "averaging": "3s"})).stem_load.result
    assert sent["wind"]["v10_m_s"] == 25
    assert not any("gust to check for" in note for note in sent["notes"])


def test_a_new_version_adds_its_result_and_the_old_one_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    make.inspected(build.tree(), make.record(sections=(measure.section(),), stem_load=loading.stem_load()))
    assert services.recompute_stored().stem_loads_computed == 0
    old = StemLoadResult.objects.get()
    loading.windy()  # what stood in when it was recorded still does
    monkeypatch.setattr(stem_loads, "VERSION", method.VERSION + 1)
    assert services.recompute_stored().as_dict() == {
        "sections_computed": 0, "sections_refused": 0, "stem_loads_computed": 1, "stem_loads_refused": 0,
        "growths_computed": 0, "growths_refused": 0,
    }  # fmt: skip
    kept, newer = StemLoadResult.objects.order_by("pk")
    assert (kept.pk, kept.result, kept.version, newer.version) == (old.pk, old.result, 1, 2)
    assert newer.result == old.result
    monkeypatch.setattr(sections, "VERSION", sections.VERSION + 1)
    done = services.recompute_stored()
    assert (done.sections_computed, done.stem_loads_computed) == (1, 1)
    assert services.recompute_stored().stem_loads_computed == 0


def test_a_stem_load_that_a_new_version_refuses_keeps_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    make.inspected(build.tree(), make.record(stem_load=loading.stem_load()))
    monkeypatch.setattr(stem_loads, "VERSION", method.VERSION + 1)

    def never(*_: Any) -> None:
        raise MethodProblem("/crown_base_m", "is refused now")

    monkeypatch.setattr(stem_loads, "compute", never)
    done = services.recompute_stored()
    assert (done.stem_loads_computed, done.stem_loads_refused) == (0, 1)
    assert StemLoadResult.objects.get().version == method.VERSION


def test_many_stem_loads_take_as_many_queries_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def entry(east: float) -> tuple[Tree, InspectionRecord]:
        return build.tree(east), make.record(sections=(measure.section(),), stem_load=loading.stem_load())

    def written(*entries: tuple[Tree, InspectionRecord]) -> int:
        return counted(lambda: services.record_inspections(SERVICE, entries, make.TODAY, now=make.NOW))

    first, *more = (entry(10.0 * n) for n in range(4))
    written(entry(90))
    # One inspection has its event with its own uid, many have one together: the same number of statements.
    assert written(first) == written(*more)
    monkeypatch.setattr(stem_loads, "VERSION", method.VERSION + 1)
    several = counted(services.recompute_stored)
    StemLoad.objects.order_by("pk").first()
    monkeypatch.setattr(stem_loads, "VERSION", method.VERSION + 2)
    written(entry(50))
    assert counted(services.recompute_stored) == several
    shown = queries.stem_load(StemLoad.objects.latest("pk").inspection.uid)
    assert len(stem_loads.looked(shown)) == 1


def test_a_load_of_many_cracked_sections_draws_none_of_them_again_and_keeps_their_loss(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cut = tuple(
        replace(measure.section(), measured=measure.cut() | {"height_m": 0.4 + n / 2})
        for n in range(sections.MOST_SECTIONS - 1)
    )
    tree, record = build.tree(dbh_cm=75), make.record(sections=cut, stem_load=loading.stem_load())
    computed, _ = sections.compute_all(record)
    drawn = counting(monkeypatch, uncertainty, "drawn_voids")
    assert stem_loads.compute_for(record, tree, computed, None)[1] == []
    assert drawn == []
    make.inspected(tree, record)
    stored = {row.section.height_m: row.result["modulus"]["loss_percent"] for row in SectionResult.objects.all()}
    rows = StemLoadResult.objects.get().result["sections"]
    assert [row["loss_percent"] for row in rows] == [
        pytest.approx(stored[row["height_m"]]["best_estimate"], rel=1e-4) for row in rows
    ]


def test_a_stem_load_alone_needs_no_section() -> None:
    make.inspected(build.tree(), make.record(stem_load=StemLoadRecord({"crown_base_m": 3.0, "crown_width_m": 8.0})))
    found = StemLoadResult.objects.get().result
    assert {row["basis"] for row in found["sections"]} == {"sound"}
    assert StemLoad.objects.get().filled["request"]["height_m"] == 12
