"""Dissections: the request of the method from what is stored, its answer, and what was predicted of the same stem."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import Prefetch, QuerySet

from assessments.dissection_records import DissectionRecord
from assessments.methods import dissection as method
from assessments.methods import log_mass, section
from assessments.methods.problems import MethodProblem
from assessments.methods.wood import find
from assessments.models import Dissection, DissectionCut, DissectionResult, Inspection, dissection
from inventory.models import Tree
from inventory.problems import FieldProblem

METHOD: Final = method.METHOD
VERSION: Final = method.VERSION
_PLACE: Final = ("height_m", "above_last_cm")


@dataclass(frozen=True)
class Computed:
    """What a method made of a dissection: its JSON answer, and the fingerprint of all that it was computed from.

    `inspection`: the judgement that was held against the truth.
    """

    method: str
    version: int
    result: Mapping[str, Any]
    of_sha256: str
    rests_on: str = ""
    inspection: Inspection | None = None


def problems(record: DissectionRecord, tree: Tree, today: date) -> Iterator[FieldProblem]:
    """What is wrong with a dissection beside its measures."""
    if record.reason not in dissection.REASONS:
        yield FieldProblem("#/reason", f"must be one of {', '.join(dissection.REASONS)}")
    for name in ("felled_on", "dissected_on"):
        if getattr(record, name) > today:
            yield FieldProblem(f"#/{name}", f"{getattr(record, name).isoformat()} lies in the future")
    if record.dissected_on < record.felled_on:
        yield FieldProblem("#/dissected_on", "lies before the tree was felled")
    if tree.removed_on and record.felled_on > tree.removed_on:
        yield FieldProblem("#/felled_on", f"the tree was removed already on {tree.removed_on.isoformat()}")
    if tree.planted_from and record.felled_on < tree.planted_from:
        yield FieldProblem("#/felled_on", f"lies before the tree was planted on {tree.planted_from.isoformat()}")


def heights(record: DissectionRecord) -> list[float]:
    """The height above ground of each cut of a record that the method has read, in the order sent."""
    last = float(record.measured.get("stump_height_m") or 0.0)
    found = []
    for cut in record.cuts:
        given = cut.measured.get("height_m")
        last = float(given) if given is not None else round(last + float(cut.measured["above_last_cm"]) / 100, 6)
        found.append(last)
    return found


def sent(record: DissectionRecord, tree: Tree) -> dict[str, Any]:
    """The request of a record as it was sent."""
    cuts = [dict(cut.measured) for cut in record.cuts]
    return {**_of_tree(record.measured, tree), **record.measured, "cuts": cuts}


def request(measured: Mapping[str, Any], tree: Tree, cuts: Sequence[DissectionCut]) -> dict[str, Any]:
    """The request of a stored dissection: all cuts there are, from below, each at its height and with its uid."""
    rows = sorted(cuts, key=lambda cut: (cut.height_m, str(cut.uid)))
    faces = [
        {name: value for name, value in cut.measured.items() if name not in _PLACE}
        | {"height_m": cut.height_m, "uid": str(cut.uid)}
        for cut in rows
    ]
    whole = {name: value for name, value in measured.items() if name != "stump_height_m"}
    return {**_of_tree(measured, tree), **whole, "cuts": faces}


def _of_tree(measured: Mapping[str, Any], tree: Tree) -> dict[str, Any]:
    """The species of the tree where nothing was said of it and its wood is known."""
    name = tree.species.botanical_name if tree.species else ""
    if not name or measured.get("species") is not None or measured.get("green_density_kg_m3") is not None:
        return {}
    try:
        find(name)
    except MethodProblem:
        return {}
    return {"species": name}


def rebuild(asked: Mapping[str, Any]) -> method.Rebuilt:
    """Rebuild a stem: the slow step, made once for all that is told of it. Raises MethodProblem."""
    return method.rebuild(method.read(dict(asked)))


def compute(asked: Mapping[str, Any], rebuilt: method.Rebuilt) -> Computed:
    """Say a stem that was rebuilt from what was asked."""
    return Computed(METHOD, VERSION, method.as_json(rebuilt), fingerprint(asked), rests_on())


def rests_on() -> str:
    """The methods that a stored stem rests on beside its own, each with its version."""
    return f"{section.METHOD}/{section.VERSION} {log_mass.METHOD}/{log_mass.VERSION}"


def whole(rows: QuerySet[Dissection]) -> QuerySet[Dissection]:
    """Dissections with their tree, cuts from below and results, the newest first, in a fixed number of statements."""
    cuts = DissectionCut.objects.order_by("height_m", "pk")
    results = DissectionResult.objects.select_related("inspection").order_by("-pk")
    related = rows.select_related("tree__species", "recorded_by")
    return related.prefetch_related(Prefetch("cuts", cuts), Prefetch("results", results))


def fingerprint(asked: Any) -> str:
    """SHA-256 of the canonical JSON of all that something is computed from."""
    text = json.dumps(asked, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def of(dissection: Dissection) -> dict[str, Any] | None:
    """The request of a stored dissection read with its cuts and tree; None while it has no cut."""
    cuts = list(dissection.cuts.all())
    return request(dissection.measured, dissection.tree, cuts) if cuts else None
