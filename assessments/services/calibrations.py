"""Calibration: fitted anew to all dissections, kept in versions; and the list of trees to be looked at again for it."""

from collections.abc import Iterator
from typing import Final

from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from assessments import calibrations, dissections, inputs, rules, stem_loads, suggestions, truths
from assessments.calibrations import InForce
from assessments.methods import calibration as method
from assessments.methods.problems import MethodProblem
from assessments.methods.risk import FAILURE
from assessments.models import (
    Calibration,
    Dissection,
    DissectionResult,
    Finding,
    Inspection,
    Rating,
    ReviewItem,
    Section,
    SectionCorrection,
    SectionResult,
)
from assessments.records import (
    FindingRecord,
    InspectionRecord,
    RatingRecord,
    SectionRecord,
    StemLoadRecord,
    TargetRecord,
)
from assessments.restate import Progress
from assessments.sections import Computed
from assessments.services.rows import section_correction
from assessments.services.truths import recompute_dissections
from assessments.suggestions import Suggestions
from inventory import events
from inventory.history import SERVICE, Author
from inventory.models.tree import STANDING

# Any number that nothing else in this database locks.
CALIBRATION_LOCK: Final = 7_316_014
BLOCK: Final = 50


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def calibrate(author: Author = SERVICE, progress: Progress = _quiet) -> tuple[Calibration, bool]:
    """Fit to all dissections there are; return the calibration in force and whether it is new.

    What was fitted to the same facts by the same method is not fitted again. A new one changes later suggestions only:
    trees whose suggestion it raises by a category enter the review list, their ratings stay as decided.
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CALIBRATION_LOCK])
        learned = dict(_learned())
        sha256 = dissections.fingerprint([method.METHOD, method.VERSION, sorted(learned.items())])
        newest = Calibration.objects.first()
        if newest is not None and newest.of_sha256 == sha256:
            return newest, False
        made = _store(author, learned, sha256, (newest.version if newest else 0) + 1)
        known = calibrations.in_force()
        if known is not None and known.fitted.enough:
            _review(made, known, progress)
        data = {"version": made.version, "trees": made.trees, "dissections": len(made.dissections)}
        events.record(author, "calibration.fitted", "calibration", data=data)
    return made, True


def learn(progress: Progress = _quiet) -> dict[str, int]:
    """What the night makes of dissections: each computed by the methods as they are now, then all fitted anew.

    Safe to break off and run again; does nothing before the first dissection. As plain numbers by name.
    """
    done = recompute_dissections(progress).as_dict()
    if not Dissection.objects.exists():
        return {**done, "calibrations_fitted": 0}
    _, created = calibrate(SERVICE, progress)
    return {**done, "calibrations_fitted": int(created)}


def _learned() -> Iterator[tuple[str, list[dict[str, object]]]]:
    """What each dissection taught, by its uid: of its newest comparison by the method as it is now.

    A dissection may arrive before the removal of its tree is recorded: while the tree stands, it teaches nothing.
    """
    newest = DissectionResult.objects.filter(method=truths.METHOD, version=truths.VERSION)
    newest = newest.exclude(dissection__tree__state__in=STANDING)
    in_order = newest.order_by("dissection", "-pk").distinct("dissection")
    for uid, rows in in_order.values_list("dissection__uid", f"result__{truths.LEARNED}"):
        yield str(uid), rows


def _store(author: Author, learned: dict[str, list[dict[str, object]]], sha256: str, version: int) -> Calibration:
    rows = [method.Row(**row) for _, taught in sorted(learned.items()) for row in taught]  # type: ignore[arg-type]
    fitted = method.fit(rows)
    return Calibration.objects.create(
        version=version,
        method=fitted.method,
        method_version=fitted.version,
        trees=fitted.trees,
        dissections=sorted(uid for uid, taught in learned.items() if taught),
        of_sha256=sha256,
        parameters=method.as_json(fitted),
        asked_by_id=author.user_id,
    )


# The review list


def _review(made: Calibration, known: InForce, progress: Progress) -> None:
    """Suggest anew for the trees whose walls are known; keep what is corrected, and list what rises."""
    total = _to_review().count()
    last = done = 0
    while block := list(_whole(_to_review().filter(pk__gt=last))[:BLOCK]):
        items: list[ReviewItem] = []
        fixed: list[SectionCorrection] = []
        for inspection in block:
            found = _again(inspection, known)
            if found is not None:
                items += _rising(made, inspection, found)
                fixed += _corrected(inspection, found)
        ReviewItem.objects.bulk_create(items)
        SectionCorrection.objects.bulk_create(fixed, ignore_conflicts=True)
        last, done = block[-1].pk, done + len(block)
        progress(done, total, "trees whose walls are known")


def _to_review() -> QuerySet[Inspection]:
    """The newest rated inspection of each standing tree that holds a wall which a calibration could correct."""
    later = Inspection.objects.filter(
        Q(inspected_at__gt=OuterRef("inspected_at"))
        | Q(inspected_at=OuterRef("inspected_at"), uid__gt=OuterRef("uid")),
        tree=OuterRef("tree"),
        frame_years__isnull=False,
    )
    measured = Section.objects.filter(inspection=OuterRef("pk"))
    stated = Finding.objects.filter(inspection=OuterRef("pk"), measures__has_key="shell_cm")
    newest = Inspection.objects.filter(~Exists(later), frame_years__isnull=False, tree__state__in=STANDING)
    return newest.filter(Exists(measured) | Exists(stated)).order_by("pk")


def _whole(rows: QuerySet[Inspection]) -> QuerySet[Inspection]:
    results = Prefetch("results", SectionResult.objects.order_by("-pk"))
    return rows.select_related("tree__species", "stem_load").prefetch_related(
        Prefetch("findings", Finding.objects.order_by("pk")),
        "targets",
        Prefetch("ratings", Rating.objects.order_by("pk")),
        Prefetch("sections", Section.objects.order_by("pk").prefetch_related(results)),
    )


def _again(inspection: Inspection, known: InForce) -> Suggestions | None:
    """What would be suggested now; None where a method, as it is now, refuses what was measured."""
    record = record_of(inspection)
    sections = list(inspection.sections.all())
    try:
        computed = [Computed(one.results.all()[0].result, one.results.all()[0].draws) for one in sections]
        seen = [rules.finding(one) for one in record.findings]
        corrections = calibrations.correct_all(known, record, seen, inspection.tree)
        load = getattr(inspection, "stem_load", None)
        loaded = stem_loads.compute(load.measured, load.filled, stem_loads.looked(load)) if load else None
        return suggestions.suggest(record, inputs.facts(inspection.tree), computed, loaded, corrections)
    except (MethodProblem, IndexError):
        return None


def record_of(inspection: Inspection) -> InspectionRecord:
    """The record of a stored inspection, as far as suggestions rest on it; read with its parts by key."""
    findings = list(inspection.findings.all())
    targets = sorted(inspection.targets.all(), key=lambda one: one.pk)
    place = {one.pk: number for number, one in enumerate(findings)}
    struck = {one.pk: number for number, one in enumerate(targets)}
    load = getattr(inspection, "stem_load", None)
    return InspectionRecord(
        uid=inspection.uid,
        inspected_at=inspection.inspected_at,
        level=inspection.level,
        frame_years=inspection.frame_years,
        findings=tuple(_finding(one) for one in findings),
        targets=tuple(
            TargetRecord(one.kind, one.label, one.occupancy, one.exposure, one.fall_direction, one.zone)
            for one in targets
        ),
        ratings=tuple(
            RatingRecord(
                one.part,
                struck[one.target_id],
                one.failure,
                one.impact,
                one.consequences,
                None if one.finding_id is None else place[one.finding_id],
            )
            for one in inspection.ratings.all()
        ),
        sections=tuple(
            SectionRecord(one.measured, None if one.finding_id is None else place[one.finding_id])
            for one in inspection.sections.all()
        ),
        stem_load=StemLoadRecord(load.measured) if load else None,
    )


_OF_FINDING: Final = ("kind", "part", "part_diameter_cm", "height_m", "azimuth_deg", "measures", "fungus_genus")


def _finding(one: Finding) -> FindingRecord:
    return FindingRecord(
        **{name: getattr(one, name) for name in _OF_FINDING}, fungus_confidence=one.fungus_confidence or ""
    )


def _rising(made: Calibration, inspection: Inspection, found: Suggestions) -> Iterator[ReviewItem]:
    """The ratings whose suggestion the calibration raises over what was suggested then and without it."""
    record = record_of(inspection)
    for row, rating in zip(inspection.ratings.all(), record.ratings, strict=True):
        now = suggestions.for_rating(rating, found)
        told = now.about.get("calibration")
        if told is None:
            continue
        before = max(told["failure_uncorrected"], row.failure_suggested or FAILURE[0], key=FAILURE.index)
        if FAILURE.index(now.failure) > FAILURE.index(before):
            yield ReviewItem(
                calibration=made,
                tree_id=inspection.tree_id,
                inspection=inspection,
                rating=row,
                suggested=before,
                corrected=now.failure,
                about=now.about,
            )


def _corrected(inspection: Inspection, found: Suggestions) -> Iterator[SectionCorrection]:
    fixes = found.corrections.sections if found.corrections else ()
    for section, fixed in zip(inspection.sections.all(), fixes, strict=False):
        if fixed:
            yield section_correction(section, fixed)
