"""Sections computed again when their method has a new version; what the older versions made of them is kept."""

import logging
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Final

from django.db.models import Exists, OuterRef, QuerySet

from assessments import sections
from assessments.methods.problems import MethodProblem
from assessments.models import Section, SectionResult
from assessments.restate import Progress
from assessments.services.rows import section_result

BLOCK: Final = 100
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Recomputed:
    """What a pass did, in sections: computed again, and refused by the method as it is now."""

    sections_computed: int = 0
    sections_refused: int = 0

    def as_dict(self) -> dict[str, int]:
        """As plain numbers by name."""
        return asdict(self)


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def recompute_sections(progress: Progress = _quiet) -> Recomputed:
    """Compute each section that the method, as it is now, has not computed yet; safe to break off and run again.

    Adds a result and keeps the older ones. Two passes at once add it once. A section that the method now refuses
    keeps what it has.
    """
    total = _outdated().count()
    done = refused = 0
    for block in _blocks():
        made = [row for row in map(_again, block) if row is not None]
        SectionResult.objects.bulk_create(made, ignore_conflicts=True)
        done, refused = done + len(made), refused + len(block) - len(made)
        progress(done + refused, total, "sections")
    return Recomputed(done, refused)


def _outdated() -> QuerySet[Section]:
    current = SectionResult.objects.filter(section=OuterRef("pk"), method=sections.METHOD, version=sections.VERSION)
    return Section.objects.filter(~Exists(current)).order_by("pk")


def _blocks() -> Iterator[list[Section]]:
    """By key, so that a section that is refused does not come again in this pass."""
    last = 0
    while block := list(_outdated().filter(pk__gt=last)[:BLOCK]):
        yield block
        last = block[-1].pk


def _again(section: Section) -> SectionResult | None:
    try:
        return section_result(section, sections.compute(section.measured))
    except MethodProblem as problem:
        _log.warning("section %s is refused by %s/%s: %s", section.uid, sections.METHOD, sections.VERSION, problem)
        return None
