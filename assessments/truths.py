"""Truth against judgement: what the last inspection before felling said of a stem, held against what was found."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from django.db.models import F, Prefetch, Q

from assessments import inputs
from assessments.dissections import Computed, fingerprint
from assessments.methods import calibration, dissection, likelihood, risk, section, truth
from assessments.methods.findings import Finding as Seen
from assessments.methods.findings import TreeFacts
from assessments.models import Dissection, Finding, Inspection, Section

METHOD: Final = truth.METHOD
VERSION: Final = truth.VERSION
# Where a result keeps what calibration learns from it.
LEARNED: Final = "calibration_rows"
_SEEN: Final = (
    *("kind", "part", "part_diameter_cm", "height_m", "azimuth_deg", "measures", "fungus_genus"),
    "fungus_confidence",
)


def rests_on() -> str:
    """The methods that a stored comparison rests on beside its own, each with its version."""
    named = (dissection, section, likelihood)
    return " ".join(f"{one.METHOD}/{one.VERSION}" for one in named)


def judged(dissections: Iterable[Dissection]) -> dict[int, Inspection]:
    """The last look before felling by key of the dissection, with findings, sections and ratings; a few statements.

    A look that found, measured and rated nothing judges nothing, unless it was thorough enough to.
    """
    felled = {one.pk: (one.tree_id, one.felled_on) for one in dissections}
    looked = ~Q(level="limited_visual") | Q(frame_years__isnull=False) | Q(findings__isnull=False)
    rows = (
        Inspection.objects.filter(looked, tree__in={tree for tree, _ in felled.values()})
        .distinct()
        .order_by(F("inspected_at").desc(), F("uid").desc())
        .prefetch_related(
            Prefetch("findings", Finding.objects.order_by("pk")),
            Prefetch("sections", Section.objects.order_by("pk")),
            "ratings",
        )
    )
    found: dict[int, Inspection] = {}
    by_tree: dict[int, list[Inspection]] = {}
    for row in rows:
        by_tree.setdefault(row.tree_id, []).append(row)
    for key, (tree, felled_on) in felled.items():
        last = next((one for one in by_tree.get(tree, ()) if one.inspected_on <= felled_on), None)
        if last is not None:
            found[key] = last
    return found


def said(inspection: Inspection) -> dict[str, Any]:
    """What an inspection said of the stem: sections as measured (one a height), findings, the worst likelihood."""
    heights = {one.height_m: dict(one.measured) for one in inspection.sections.all()}
    failures = [rating.failure for rating in inspection.ratings.all()]
    return {
        "sections": list(heights.values()),
        "findings": [{name: getattr(one, name) for name in _SEEN} for one in inspection.findings.all()],
        "likelihood": max(failures, key=risk.FAILURE.index, default=None),
    }


def compute(one: Dissection, asked: Mapping[str, Any], inspection: Inspection, rebuilt: dissection.Rebuilt) -> Computed:
    """Hold a stem that was rebuilt from what was asked against what an inspection said. Raises MethodProblem."""
    compared = held_against(one, rebuilt, inspection)
    group = group_of(one)
    rows = truth.rows(compared, str(one.tree.uid), one.reason, group)
    result = {**truth.as_json(compared), LEARNED: [asdict(row) for row in rows]}
    return Computed(METHOD, VERSION, result, of_sha256(one, asked, inspection), rests_on(), inspection)


def held_against(one: Dissection, rebuilt: dissection.Rebuilt, inspection: Inspection | None) -> truth.Comparison:
    """A rebuilt stem held against what an inspection said; against nothing where there was none."""
    told = truth.Predicted() if inspection is None else _predicted(said(inspection), inputs.facts(one.tree))
    return truth.compare(rebuilt, told)


def of_sha256(one: Dissection, asked: Mapping[str, Any], inspection: Inspection) -> str:
    """The fingerprint of all that a comparison is computed from."""
    tree = asdict(inputs.facts(one.tree))
    return fingerprint({"dissection": asked, "predicted": said(inspection), "tree": tree, "reason": one.reason})


def group_of(one: Dissection) -> str:
    """The group of species that a tree is calibrated with."""
    return truth.species_group(one.tree.species.botanical_name if one.tree.species else None)


def _predicted(told: Mapping[str, Any], facts: TreeFacts) -> truth.Predicted:
    measured = told["sections"]
    return truth.Predicted(
        sections=tuple(section.read(dict(one)) for one in measured),
        methods=tuple(truth.method_of(one) for one in measured),
        findings=tuple(seen(one) for one in told["findings"]),
        tree=facts,
        likelihood=told["likelihood"],
    )


def seen(one: Mapping[str, Any]) -> Seen:
    """A finding as the methods take it."""
    return Seen(**{**one, "fungus_confidence": one["fungus_confidence"] or ""})


def learned(results: Sequence[Mapping[str, Any]]) -> list[calibration.Row]:
    """What calibration learns from stored comparisons."""
    return [calibration.Row(**row) for result in results for row in result[LEARNED]]
