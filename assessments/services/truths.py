"""What the methods make of dissections: kept with their version, computed again when one has a new version."""

import logging
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Final

from assessments import dissections
from assessments.methods.problems import MethodProblem
from assessments.models import Dissection, DissectionResult
from assessments.restate import Progress

BLOCK: Final = 50
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Recomputed:
    """What a pass did: results added, and dissections that a method, as it is now, refuses."""

    results_added: int = 0
    dissections_refused: int = 0

    def as_dict(self) -> dict[str, int]:
        """As plain numbers by name."""
        return asdict(self)


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def keep_results(dissection_ids: Sequence[int]) -> Recomputed:
    """Compute what is not computed yet of some dissections: the stem, and its truth against the judgement before.

    Adds results and keeps the older ones; two at once add one. A few statements for any number.
    """
    made: list[DissectionResult] = []
    refused = 0
    for one in dissections.whole(Dissection.objects.filter(pk__in=dissection_ids)):
        try:
            made += _missing(one)
        except MethodProblem as problem:
            _log.warning("dissection %s is refused by %s: %s", one.uid, dissections.rests_on(), problem)
            refused += 1
    DissectionResult.objects.bulk_create(made, ignore_conflicts=True)
    return Recomputed(len(made), refused)


def _missing(one: Dissection) -> Iterator[DissectionResult]:
    known = {(row.method, row.version, row.rests_on, row.of_sha256) for row in one.results.all()}
    for found in dissections.results(one, known):
        yield DissectionResult(
            dissection=one,
            inspection=found.inspection,
            method=found.method,
            version=found.version,
            rests_on=found.rests_on,
            of_sha256=found.of_sha256,
            result=dict(found.result),
        )


def recompute_dissections(progress: Progress = _quiet) -> Recomputed:
    """Compute of every dissection what the methods, as they are now, have not computed; safe to break off."""
    total = Dissection.objects.count()
    added = refused = done = last = 0
    while ids := list(Dissection.objects.filter(pk__gt=last).order_by("pk").values_list("pk", flat=True)[:BLOCK]):
        found = keep_results(ids)
        added, refused, done = added + found.results_added, refused + found.dissections_refused, done + len(ids)
        progress(done, total, "dissections")
        last = ids[-1]
    return Recomputed(added, refused)
