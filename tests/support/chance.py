"""Hypothesis strategies for inspections as they may come in: any level, findings, targets, ratings, checks."""

from datetime import date, timedelta

from hypothesis import strategies as st

from assessments.methods import risk
from assessments.methods.findings import example
from assessments.models.inspection import LEVELS
from assessments.models.target import KINDS as TARGET_KINDS
from assessments.records import AskedCheck, FindingRecord, InspectionRecord
from tests.support import inspections as make

# Kinds whose example fits a tree of any size.
_KINDS = ("decay", "canker", "dead_wood", "lean", "wound")


def _finding(kind: str) -> FindingRecord:
    seen = example(kind)
    part = "branch" if kind == "dead_wood" else seen.part
    return FindingRecord(kind=kind, part=part, measures=dict(seen.measures))


@st.composite
def records(draw: st.DrawFn) -> InspectionRecord:
    """One record of the last six years."""
    on = make.TODAY - timedelta(days=draw(st.integers(0, 2200)))
    targets = tuple(
        make.target(kind) for kind in draw(st.lists(st.sampled_from(TARGET_KINDS), max_size=2, unique=True))
    )
    ratings = tuple(
        make.rating(
            target=place,
            failure=draw(st.sampled_from(risk.FAILURE[:3])),
            impact=draw(st.sampled_from(risk.IMPACT)),
            consequences=draw(st.sampled_from(risk.CONSEQUENCES)),
        )
        for place in range(len(targets))
        if draw(st.booleans())
    )
    checks = tuple(
        AskedCheck(kind, on + timedelta(days=draw(st.integers(0, 400))), "look again")
        for kind in draw(st.lists(st.sampled_from(("reinspect", "advanced_diagnosis", "storm")), max_size=2))
    )
    return make.record(
        inspected_at=make.noon(on) + timedelta(minutes=draw(st.integers(0, 600))),
        level=draw(st.sampled_from(LEVELS)),
        findings=tuple(_finding(kind) for kind in draw(st.lists(st.sampled_from(_KINDS), max_size=2))),
        targets=targets,
        ratings=ratings,
        frame_years=draw(st.integers(1, 5)) if ratings else None,
        checks=checks,
        emergency=draw(st.integers(0, 5)) == 0,
    )


def histories(trees: int = 3) -> st.SearchStrategy[list[list[InspectionRecord]]]:
    """What came in for each of some trees, in order of arrival."""
    return st.lists(st.lists(records(), max_size=4), min_size=trees, max_size=trees)


def days() -> st.SearchStrategy[date]:
    """A day near today."""
    return st.integers(-800, 800).map(lambda count: make.TODAY + timedelta(days=count))
