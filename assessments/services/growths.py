"""Decay growths: stored with their inspection, computed again when a method, a section or the city's rule changed."""

import logging
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Final

from django.db import connection, transaction
from django.db.models import OuterRef, Prefetch, QuerySet, Subquery
from django.db.models.functions import Coalesce

from assessments import decay_growths, inputs
from assessments.decay_growths import Computed, Part
from assessments.methods.policy import DecayRule
from assessments.methods.problems import MethodProblem
from assessments.models import DecayGrowth, Finding, Mark, SectionResult
from assessments.restate import Progress
from assessments.services.marks import mark_trees
from assessments.services.rows import Prepared
from inventory.statements import statement

BLOCK: Final = 200
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Recomputed:
    """What a pass did, in decayed parts: computed again, and refused by the method as it is now."""

    growths_computed: int = 0
    growths_refused: int = 0

    def as_dict(self) -> dict[str, int]:
        """As plain numbers by name."""
        return asdict(self)


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def insert(prepared: Sequence[Prepared]) -> None:
    """Insert what was computed of the decayed parts of inserted inspections."""
    made = [(one, found) for one in prepared for found in one.suggested.decay]
    if not made:
        return
    first = _first_findings([_finding(one, found) for one, found in made])
    since = inputs.decay_rule_since()
    DecayGrowth.objects.bulk_create([_row(one, found, first, since) for one, found in made])


def _finding(one: Prepared, found: Computed) -> Finding | None:
    return None if found.part.finding is None else one.findings[found.part.finding]


def _first_findings(findings: Sequence[Finding | None]) -> dict[int, int]:
    """What the chain of each finding that continues another began with."""
    ids = [one.pk for one in findings if one is not None and one.continues_id]
    if not ids:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(statement("assessments", "first_findings"), {"ids": ids})
        return dict(cursor.fetchall())


def _row(one: Prepared, found: Computed, first: dict[int, int], since: int) -> DecayGrowth:
    finding, part = _finding(one, found), found.part
    assert one.policy is not None  # noqa: S101 - it was computed by its rule
    row = DecayGrowth(
        inspection=one.inspection,
        section=None if part.section is None else one.sections[part.section],
        finding=finding,
        defect_id=None if finding is None else first.get(finding.pk, finding.pk),
        part=part.part,
        height_m=part.height_m,
    )
    return _filled(row, found, one.policy.decay_growth, since)


def _filled(row: DecayGrowth, found: Computed, rule: DecayRule, since: int) -> DecayGrowth:
    """A row with what the method, as it is now, made of it under the city's rule."""
    row.asked, row.result = dict(found.part.asked), dict(found.result)
    row.method, row.version = decay_growths.METHOD, decay_growths.VERSION
    row.rests_on = decay_growths.rests_on(since)
    row.banded, row.first_year = found.banded, found.first_year
    row.due_on = decay_growths.due_on(found, row.inspection.inspected_on, rule)
    return row


def recompute_growths(progress: Progress = _quiet) -> Recomputed:
    """Compute each part again whose newest result rests on older methods or on another rule of the city.

    Adds results, keeps the older ones and marks the trees, whose dates may change. Safe to break off and run again.
    """
    rule, since = inputs.policy_in_force()[1].decay_growth, inputs.decay_rule_since()
    total = _outdated(since).count()
    done = refused = 0
    for block in _blocks(since):
        made = [row for row in (_again(old, rule, since) for old in block) if row is not None]
        with transaction.atomic():
            DecayGrowth.objects.bulk_create(made, ignore_conflicts=True)
            mark_trees(sorted({row.inspection.tree_id for row in made}))
        done, refused = done + len(made), refused + len(block) - len(made)
        progress(done + refused, total, "decay growths")
    return Recomputed(done, refused)


def follow_policy() -> Recomputed:
    """Recompute what a new policy asks for, before the trees are restated; nothing where not all are marked."""
    return recompute_growths() if Mark.objects.filter(scope="all").exists() else Recomputed()


def _outdated(since: int) -> QuerySet[DecayGrowth]:
    """The newest result of each part that is not of now."""
    of_part = DecayGrowth.objects.alias(by=Coalesce("section_id", 0), of=Coalesce("finding_id", 0)).filter(
        inspection=OuterRef("inspection"),
        by=Coalesce(OuterRef("section_id"), 0),
        of=Coalesce(OuterRef("finding_id"), 0),
    )
    newest = Subquery(of_part.order_by("-pk").values("pk")[:1])
    sections = Prefetch("section__results", SectionResult.objects.order_by("-pk"))
    rows = DecayGrowth.objects.select_related("inspection", "section").prefetch_related(sections)
    current = {
        "method": decay_growths.METHOD,
        "version": decay_growths.VERSION,
        "rests_on": decay_growths.rests_on(since),
    }
    return rows.filter(pk=newest).exclude(**current).order_by("pk")


def _blocks(since: int) -> Iterator[list[DecayGrowth]]:
    """By key, so that a part that is refused does not come again in this pass."""
    last = 0
    while block := list(_outdated(since).filter(pk__gt=last)[:BLOCK]):
        yield block
        last = block[-1].pk


def _again(old: DecayGrowth, rule: DecayRule, since: int) -> DecayGrowth | None:
    row = DecayGrowth(
        inspection=old.inspection,
        section=old.section,
        finding_id=old.finding_id,
        defect_id=old.defect_id,
        part=old.part,
        height_m=old.height_m,
    )
    try:
        return _filled(row, decay_growths.compute(_part(old), rule), rule, since)
    except MethodProblem as problem:
        _log.warning("decay growth %s is refused: %s", old.pk, problem)
        return None


def _part(old: DecayGrowth) -> Part:
    part = Part(None, None, old.part, old.height_m, old.asked)
    newest = next(iter(old.section.results.all()), None) if old.section else None
    if old.section is None or newest is None:
        return part
    return decay_growths.again(part, old.section.measured, newest.result)
