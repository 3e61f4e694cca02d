"""Stem loads computed again when a method that they rest on has a new version; what older versions made is kept."""

import logging
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Final

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from assessments import stem_loads
from assessments.methods.problems import MethodProblem
from assessments.models import Section, SectionResult, StemLoad, StemLoadResult
from assessments.restate import Progress
from assessments.services.growths import recompute_growths
from assessments.services.rows import stem_load_result
from assessments.services.sections import recompute_sections

BLOCK: Final = 100
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Recomputed:
    """What a pass did: sections, stem loads and decay growths computed again, and refused by the methods of now."""

    sections_computed: int = 0
    sections_refused: int = 0
    stem_loads_computed: int = 0
    stem_loads_refused: int = 0
    growths_computed: int = 0
    growths_refused: int = 0

    def as_dict(self) -> dict[str, int]:
        """As plain numbers by name."""
        return asdict(self)


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def recompute_stored(progress: Progress = _quiet) -> Recomputed:
    """Compute each section, then each stem load and decay growth that the methods of now have not computed yet.

    Safe to break off and run again. Adds results and keeps the older ones. What a method now refuses keeps what it
    has.
    """
    done = recompute_sections(progress)
    loads, grown = _stem_loads(progress), recompute_growths(progress)
    return Recomputed(
        done.sections_computed, done.sections_refused, *loads, grown.growths_computed, grown.growths_refused
    )


def _stem_loads(progress: Progress) -> tuple[int, int]:
    total = _outdated().count()
    done = refused = 0
    for block in _blocks():
        made = [row for row in map(_again, block) if row is not None]
        StemLoadResult.objects.bulk_create(made, ignore_conflicts=True)
        done, refused = done + len(made), refused + len(block) - len(made)
        progress(done + refused, total, "stem loads")
    return done, refused


def _outdated() -> QuerySet[StemLoad]:
    current = StemLoadResult.objects.filter(
        stem_load=OuterRef("pk"),
        method=stem_loads.METHOD,
        version=stem_loads.VERSION,
        rests_on=stem_loads.rests_on(),
    )
    sections = Section.objects.order_by("pk").prefetch_related(
        Prefetch("results", SectionResult.objects.order_by("-pk"))
    )
    whole = StemLoad.objects.select_related("inspection").prefetch_related(Prefetch("inspection__sections", sections))
    return whole.filter(~Exists(current)).order_by("pk")


def _blocks() -> Iterator[list[StemLoad]]:
    """By key, so that a stem load that is refused does not come again in this pass."""
    last = 0
    while block := list(_outdated().filter(pk__gt=last)[:BLOCK]):
        yield block
        last = block[-1].pk


def _again(load: StemLoad) -> StemLoadResult | None:
    try:
        return stem_load_result(load, stem_loads.compute(load.measured, load.filled, stem_loads.looked(load)))
    except MethodProblem as problem:
        _log.warning("stem load %s is refused by %s/%s: %s", load.uid, stem_loads.METHOD, stem_loads.VERSION, problem)
        return None
