"""What the methods suggest for a record: likelihood of failure by part, of impact by target, risk by pair.

Advice to a qualified assessor, who decides and says why where the decision differs.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from assessments import calibrations, decay_growths, rules, sections, stem_loads
from assessments.calibrations import Corrections
from assessments.methods import evidence, likelihood, mechanics, risk
from assessments.methods.findings import TreeFacts
from assessments.methods.likelihood import FindingSuggestion, Suggestion
from assessments.methods.risk import Impact
from assessments.models.target import STATIC_KINDS
from assessments.records import InspectionRecord, RatingRecord, TargetRecord
from assessments.sections import Computed
from inventory.problems import FieldProblem

# Written beside each number that rests on them.
METHODS: Final = f"{likelihood.METHOD}/{likelihood.VERSION} {risk.METHOD}/{risk.VERSION}"
WITH_LOAD: Final = f"{METHODS} {mechanics.METHOD}/{mechanics.VERSION} {evidence.METHOD}/{evidence.VERSION}"
# How often a target must be there for a suggested imminent failure to be called a suggested emergency.
_PRESENT: Final = ("occasional", "frequent", "constant")


@dataclass(frozen=True)
class Pair:
    """One part and one target: the suggested words. Consequences are the assessor's alone."""

    part: str
    finding: int | None
    target: int
    failure: str
    impact: str
    failure_and_impact: str


@dataclass(frozen=True)
class Suggestions:
    """All that is suggested for a record. `emergency` tells that imminent failure is suggested over a target.

    `sections`: what the method made of each section, in their order; `stem_load`: the stem load, where there is one;
    `decay`: each decayed part over the years. Where a calibration corrects any wall, `uncorrected` is the failure
    without it.
    """

    failure: Suggestion
    impacts: tuple[Impact, ...]
    pairs: tuple[Pair, ...]
    emergency: bool
    methods: str = METHODS
    sections: tuple[Computed, ...] = ()
    stem_load: stem_loads.Computed | None = None
    decay: tuple[decay_growths.Computed, ...] = ()
    corrections: Corrections | None = None
    uncorrected: Suggestion | None = None


def suggest(
    record: InspectionRecord,
    facts: TreeFacts,
    computed: Sequence[Computed] = (),
    load: stem_loads.Computed | None = None,
    corrections: Corrections | None = None,
) -> Suggestions:
    """Suggest for a record whose parts make sense, from its findings, computed sections and computed stem load.

    `corrections`: what the calibration makes of its walls; the suggestion without them stands beside.
    """
    plain = failure = _failure(record, facts, computed, load, None)
    applied = corrections is not None and corrections.applied
    if corrections is not None and applied:
        fixed = stem_loads.corrected(record, load, computed, corrections) if load else None
        failure = _failure(record, facts, computed, fixed, corrections)
    impacts = tuple(impact(one) for one in record.targets)
    pairs = tuple(_pairs(failure, impacts))
    present = any(one.occupancy in _PRESENT for one in record.targets)
    urgent = failure.category == "imminent" and present
    return Suggestions(
        failure,
        impacts,
        pairs,
        urgent,
        _methods(load, corrections if applied else None),
        tuple(computed),
        load,
        corrections=corrections,
        uncorrected=plain if applied else None,
    )


def _methods(load: stem_loads.Computed | None, corrections: Corrections | None) -> str:
    methods = WITH_LOAD if load else METHODS
    return f"{methods} {corrections.methods}" if corrections else methods


def _failure(
    record: InspectionRecord,
    facts: TreeFacts,
    computed: Sequence[Computed],
    load: stem_loads.Computed | None,
    corrections: Corrections | None,
) -> Suggestion:
    seen = [rules.finding(one) for one in record.findings]
    told = sections.tell(record, seen, computed, corrections.sections if corrections else ())
    for place, one in (corrections.shells if corrections else {}).items():
        if one.applied:
            told[place] = sections.Told(calibrations.shell_told(seen[place], one), one.said)
    judged = [told[place].finding if place in told else one for place, one in enumerate(seen)]
    failure = sections.with_reasons(likelihood.suggest(judged, facts), told)
    return stem_loads.with_mechanics(failure, load.mechanics if load else None)


def impact(target: TargetRecord) -> Impact:
    """Suggest the likelihood of impact on a target."""
    occupancy = risk.target_occupancy("static" if target.kind in STATIC_KINDS else "mobile", target.occupancy)
    return risk.impact_from(occupancy, target.exposure, target.fall_direction)


def _pairs(failure: Suggestion, impacts: tuple[Impact, ...]) -> Iterator[Pair]:
    for one in failure.by_finding:
        for place, hit in enumerate(impacts):
            both = risk.failure_and_impact(one.category, hit.word)
            yield Pair(one.part, one.place, place, one.category, hit.word, both)


@dataclass(frozen=True)
class ForRating:
    """What was suggested for one rating, and on what it rests."""

    failure: str
    impact: str
    about: dict[str, Any]


def for_rating(rating: RatingRecord, suggestions: Suggestions) -> ForRating:
    """Suggest for one rating of the record: from its finding, else from all findings of its part."""
    found = _findings_of(rating, suggestions.failure)
    general = likelihood.suggest(())
    worst = found[0] if found else None
    hit = suggestions.impacts[rating.target]
    reasons = [reason for one in found for reason in one.reasons] if found else general.reasons
    return ForRating(
        failure=worst.category if worst else general.category,
        impact=hit.word,
        about={
            "failure_basis": _basis(found, suggestions.stem_load),
            "failure_reasons": [{"text": reason.text, "source": reason.source} for reason in reasons],
            "impact_basis": hit.basis,
            "impact_reason": hit.reason,
            "sharpen": _sharpen(found, suggestions),
            **_calibrated(rating, suggestions),
        },
    )


def _calibrated(rating: RatingRecord, suggestions: Suggestions) -> dict[str, Any]:
    """What the dissected trees corrected, with the category that would be suggested without them."""
    corrections, plain = suggestions.corrections, suggestions.uncorrected
    if corrections is None or plain is None:
        return {}
    found = _findings_of(rating, plain)
    before = found[0].category if found else likelihood.suggest(()).category
    return {
        "calibration": {
            "version": corrections.calibration,
            "trees": corrections.trees,
            "failure_uncorrected": before,
            "said": f"Corrected by {corrections.trees} dissected trees; uncorrected: {before}.",
        }
    }


def _findings_of(rating: RatingRecord, failure: Suggestion) -> list[FindingSuggestion]:
    """What the rating rests on, the worst first."""
    found = [
        one
        for one in failure.by_finding
        if (one.place == rating.finding if rating.finding is not None else one.part == rating.part)
    ]
    return sorted(found, key=lambda one: (risk.code(risk.FAILURE, one.category), one.defect_class), reverse=True)


def _basis(found: list[FindingSuggestion], load: stem_loads.Computed | None) -> str:
    of_stem = any(one.part == stem_loads.STEM for one in found)
    seen = any(one.place is not None or one.part != stem_loads.STEM for one in found)
    return stem_loads.basis(seen, load.mechanics if load and of_stem else None)


def _sharpen(found: list[FindingSuggestion], suggestions: Suggestions) -> dict[str, Any] | None:
    """What would sharpen a rating most: of the findings the one that is missing, else of the stem load."""
    missing, load = suggestions.failure.missing, suggestions.stem_load
    if missing is None or missing.place not in [one.place for one in found]:
        if load and load.mechanics.sharpen and any(one.part == stem_loads.STEM for one in found):
            return {"finding": None, "field": "stem_load", "why": load.mechanics.sharpen}
        return None
    return {"finding": missing.place, "field": missing.field, "why": missing.why}


def why_uncorrected(rating: RatingRecord, suggested: ForRating) -> str:
    """The reason that stands by itself: the assessor decided as was suggested before the newest calibration."""
    told = suggested.about.get("calibration")
    if told is None or rating.failure == suggested.failure or rating.failure != told["failure_uncorrected"]:
        return ""
    return f"as suggested without calibration {told['version']}"


def undecided(record: InspectionRecord, suggestions: Suggestions) -> Iterator[FieldProblem]:
    """The ratings that differ from what was suggested and do not say why."""
    for place, rating in enumerate(record.ratings):
        suggested = for_rating(rating, suggestions)
        said = "" if why_uncorrected(rating, suggested) else "failure"
        differs = [
            f"{name} is {getattr(rating, name)}, suggested {getattr(suggested, name)}"
            for name in (said, "impact")
            if name and getattr(rating, name) != getattr(suggested, name)
        ]
        if differs and not rating.why_different.strip():
            yield FieldProblem(f"#/ratings/{place}/why_different", f"say why: {'; '.join(differs)}")
