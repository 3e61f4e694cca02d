"""Inspections as they were recorded, each defect across the years, open checks and emergencies."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Prefetch, Q, QuerySet

from assessments.models import (
    DecayGrowth,
    Finding,
    Inspection,
    Rating,
    RequiredCheck,
    Section,
    SectionCorrection,
    SectionResult,
    StemLoad,
    StemLoadResult,
)
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Missing


def _whole() -> QuerySet[Inspection]:
    """Inspections with all their parts, in a fixed number of statements."""
    ratings = Rating.objects.select_related("target", "finding").order_by("pk")
    sections = _sections().select_related("finding").order_by("height_m", "pk")
    return Inspection.objects.select_related("tree", "inspector", "stem_load").prefetch_related(
        Prefetch("findings", Finding.objects.select_related("continues").order_by("pk")),
        "targets",
        Prefetch("ratings", ratings),
        Prefetch("sections", sections),
        Prefetch("stem_load__results", StemLoadResult.objects.order_by("-pk")),
        Prefetch("decay_growths", DecayGrowth.objects.select_related("section", "finding").order_by("-pk")),
        "asked_checks",
        "emergency_actions",
    )


def _sections() -> QuerySet[Section]:
    """Sections with their results and corrections, the newest first."""
    return Section.objects.prefetch_related(
        Prefetch("results", SectionResult.objects.order_by("-pk")),
        Prefetch("corrections", SectionCorrection.objects.order_by("-calibration")),
    )


def inspections_of(tree: Tree, *, before: uuid.UUID | None = None) -> QuerySet[Inspection]:
    """The inspections of a tree with all their parts, the newest first; `before`: only those older than this one."""
    rows = _whole().filter(tree=tree).order_by("-inspected_at", "-uid")
    if before is None:
        return rows
    at = Inspection.objects.filter(uid=before).values("inspected_at")[:1]
    return rows.filter(Q(inspected_at__lt=at) | Q(inspected_at=at, uid__lt=before))


def inspection(uid: uuid.UUID) -> Inspection:
    """One inspection with all its parts. Raises Missing."""
    found = _whole().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no inspection {uid}")
    return found


def section(uid: uuid.UUID) -> Section:
    """One section with its results, the newest first. Raises Missing."""
    found = _sections().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no section {uid}")
    return found


def stem_load(inspection_uid: uuid.UUID) -> StemLoad:
    """The stem load of an inspection with its sections and their results, the newest first. Raises Missing."""
    whole = StemLoad.objects.select_related("inspection").prefetch_related(
        Prefetch("inspection__sections", _sections().order_by("pk"))
    )
    found = whole.filter(inspection__uid=inspection_uid).first()
    if found is None:
        raise Missing(f"there is no stem load with an inspection {inspection_uid}")
    return found


def checks_of(tree: Tree) -> QuerySet[RequiredCheck]:
    """The required checks of a tree: open ones first, by due date; then those closed last."""
    checks = RequiredCheck.objects.filter(tree=tree).select_related("asked_by", "closed_by", "inspection")
    return checks.order_by(F("closed_on").desc(nulls_first=True), "due_on", "pk")


def open_emergencies() -> QuerySet[Inspection]:
    """Emergencies at standing trees that no later rating has answered, the newest first."""
    later = Inspection.objects.filter(
        tree=OuterRef("tree"), frame_years__isnull=False, inspected_at__gt=OuterRef("inspected_at")
    )
    raised = Inspection.objects.filter(~Q(emergency=""), ~Exists(later), tree__state__in=STANDING)
    return raised.select_related("tree__species", "tree__site", "inspector").order_by("-inspected_at", "-uid")


@dataclass(frozen=True)
class Defect:
    """One weakness as it was seen again and again, the earliest sighting first; `finding.inspection` tells when."""

    sightings: tuple[Finding, ...]

    @property
    def newest(self) -> Finding:
        """How it was seen last."""
        return self.sightings[-1]

    @property
    def uid(self) -> uuid.UUID:
        """The uid of the finding that it began with."""
        return self.sightings[0].uid


def defect_history(tree: Tree) -> list[Defect]:
    """Each defect of a tree with all its sightings across the years, the one seen last first."""
    found = Finding.objects.filter(inspection__tree=tree).select_related("inspection", "continues")
    in_order = found.order_by("inspection__inspected_at", "inspection__uid", "pk")
    defects = [Defect(tuple(chain)) for chain in _chains(in_order)]
    return sorted(defects, key=lambda defect: defect.newest.inspection.inspected_at, reverse=True)


def _chains(in_order: Iterable[Finding]) -> Iterable[list[Finding]]:
    """Group findings by what they go back to. One always continues an earlier one, so that comes before it."""
    chains: dict[int, list[Finding]] = {}
    for finding in in_order:
        chain = chains[finding.continues_id] if finding.continues_id else []
        chain.append(finding)
        chains[finding.pk] = chain
    return {id(chain): chain for chain in chains.values()}.values()
