"""What the methods make of dissections: kept with their version, computed again when one has a new version."""

import logging
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from assessments import dissections, truths
from assessments.dissections import Computed
from assessments.methods.dissection import Rebuilt
from assessments.methods.problems import MethodProblem
from assessments.models import Dissection, DissectionResult, Inspection
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


@dataclass(frozen=True)
class Given:
    """A stem that was rebuilt to see whether the method takes it, and the request that it was rebuilt from."""

    asked: Mapping[str, Any]
    rebuilt: Rebuilt


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


def keep_results(dissection_ids: Sequence[int], given: Given | None = None) -> Recomputed:
    """Compute what is not computed yet of some dissections: the stem, and its truth against the judgement before.

    Adds results and keeps the older ones; two at once add one. A few statements for any number. `given`: a stem that
    the caller has rebuilt already, with the request it was rebuilt from.
    """
    whole = list(dissections.whole(Dissection.objects.filter(pk__in=dissection_ids)))
    judged = truths.judged(whole)
    made: list[DissectionResult] = []
    refused = 0
    for one in whole:
        try:
            made += [_row(one, found) for found in _missing(one, judged.get(one.pk), given)]
        except MethodProblem as problem:
            _log.warning("dissection %s is refused by the methods as they are now: %s", one.uid, problem)
            refused += 1
    DissectionResult.objects.bulk_create(made, ignore_conflicts=True)
    return Recomputed(len(made), refused)


def _missing(one: Dissection, judged: Inspection | None, given: Given | None) -> Iterator[Computed]:
    """What is not computed yet; the stem is rebuilt once for all of it. Raises MethodProblem."""
    known = {(row.method, row.version, row.rests_on, row.of_sha256) for row in one.results.all()}
    asked = dissections.of(one)
    if asked is None:
        return
    key = (dissections.METHOD, dissections.VERSION, dissections.rests_on(), dissections.fingerprint(asked))
    truth = judged and (truths.METHOD, truths.VERSION, truths.rests_on(), truths.of_sha256(one, asked, judged))
    if key in known and (truth is None or truth in known):
        return
    rebuilt = given.rebuilt if given and given.asked == asked else dissections.rebuild(asked)
    if key not in known:
        yield dissections.compute(asked, rebuilt)
    if judged is not None and truth not in known:
        yield truths.compute(one, asked, judged, rebuilt)


def _row(one: Dissection, found: Computed) -> DissectionResult:
    return DissectionResult(
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
