"""Dissections in: the facts stored once, late or twice as they come; what the methods make of them beside."""

import uuid
from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from django.db import IntegrityError

from assessments import dissections
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.methods import dissection as method
from assessments.methods.problems import MethodProblem, WrongField
from assessments.models import Dissection, DissectionCut, Inspection
from assessments.records import fingerprint
from assessments.services.truths import Given, keep_results
from inventory import events
from inventory.history import Author
from inventory.models import Tree
from inventory.problems import Conflict, FieldProblem, Invalid

M = TypeVar("M", Dissection, DissectionCut)


def record_dissection(author: Author, tree: Tree, record: DissectionRecord, today: date) -> tuple[Dissection, bool]:
    """Store a dissection with its cuts; return it and whether it is new.

    The same uid and content give the stored one for ever. Raises Invalid for a record that breaks a rule, Conflict
    for a uid with other content or a tree that was inspected after it is said to be felled.
    """
    with author.acting("dissection recorded"):
        tree = Tree.objects.select_for_update(no_key=True, of=("self",)).select_related("species").get(pk=tree.pk)
        stored = Dissection.objects.filter(uid=record.uid).first()
        if stored is not None:
            return _same(stored, fingerprint(tree.uid, record), "dissection"), False
        given = _check(tree, record, today)
        made = _store(author, tree, record)
        keep_results([made.pk], given)
        data = {"reason": record.reason, "cuts": len(record.cuts), "felled_on": record.felled_on.isoformat()}
        events.record(author, "dissection.recorded", "dissection", made.uid, tree_id=tree.pk, data=data)
    return made, True


def _same(stored: M, sha256: str, noun: str) -> M:
    if stored.content_sha256 != sha256:
        raise Conflict(f"{noun} {stored.uid} is recorded already with other content")
    return stored


def _check(tree: Tree, record: DissectionRecord, today: date) -> Given | None:
    """The stem as the method rebuilds it, None without cuts. Raises Invalid, Conflict."""
    wrong, given = list(dissections.problems(record, tree, today)), None
    try:
        given = _rebuilt(record, tree)
    except MethodProblem as problem:
        wrong += _pointers(problem.fields)
    if not record.cuts and record.measured.get("weighed"):
        wrong.append(FieldProblem("#/weighed", "lies outside the cuts: there are none yet"))
    if wrong:
        raise Invalid.fields(wrong)
    seen = Inspection.objects.filter(tree=tree, inspected_on__gt=record.felled_on).order_by("-inspected_on").first()
    if seen:
        raise Conflict(f"the tree was inspected on {seen.inspected_on.isoformat()}, after it is said to be felled")
    return given


def _rebuilt(record: DissectionRecord, tree: Tree) -> Given | None:
    """Rebuild the stem from its cuts as they will be stored. Raises MethodProblem, as of what was sent."""
    if not record.cuts:
        return None
    method.read(dissections.sent(record, tree))
    asked = dissections.request(record.measured, tree, _cuts(record))
    return Given(asked, dissections.rebuild(asked))


def _cuts(record: DissectionRecord) -> list[DissectionCut]:
    """The rows of the cuts that the method has read, not saved and without their dissection."""
    return [
        DissectionCut(uid=record.cut_uid(place), height_m=height_m, measured=dict(cut.measured))
        for place, (cut, height_m) in enumerate(zip(record.cuts, dissections.heights(record), strict=True))
    ]


def _pointers(fields: Iterable[WrongField]) -> list[FieldProblem]:
    return [FieldProblem(f"#{field.pointer}", field.detail) for field in fields]


def _store(author: Author, tree: Tree, record: DissectionRecord) -> Dissection:
    made = Dissection.objects.create(
        uid=record.uid,
        content_sha256=fingerprint(tree.uid, record),
        tree=tree,
        felled_on=record.felled_on,
        dissected_on=record.dissected_on,
        reason=record.reason,
        measured=dict(record.measured),
        note=record.note,
        recorded_by_id=author.user_id,
    )
    rows = _cuts(record)
    for row, cut in zip(rows, record.cuts, strict=True):
        row.dissection, row.recorded_by_id = made, author.user_id
        row.content_sha256 = fingerprint(made.uid, cut)
    try:
        DissectionCut.objects.bulk_create(rows)
    except IntegrityError as error:
        raise _taken(error) from error
    return made


def _taken(error: IntegrityError) -> Exception:
    """A client-made uid that is taken is the client's to answer for; anything else is ours."""
    if "dissection_cut_uid_key" in str(error):
        return Conflict("a cut with one of these uids is recorded already")
    return error


def add_cut(author: Author, dissection: Dissection, cut: CutRecord) -> tuple[DissectionCut, bool]:
    """Add a cut, at its height above ground, to a dissection; return it and whether it is new.

    The same uid and content give the stored one for ever. Raises Invalid, Conflict as a dissection does.
    """
    uid = cut.uid or uuid.uuid4()
    with author.acting("cut recorded"):
        held = Dissection.objects.select_for_update(no_key=True, of=("self",)).select_related("tree__species")
        locked = held.get(pk=dissection.pk)
        stored = DissectionCut.objects.filter(uid=uid).first()
        sha256 = fingerprint(locked.uid, cut)
        if stored is not None:
            return _same(stored, sha256, "cut"), False
        height_m, given = _check_cut(locked, cut, uid)
        made = DissectionCut.objects.create(
            uid=uid,
            content_sha256=sha256,
            dissection=locked,
            height_m=height_m,
            measured=dict(cut.measured),
            recorded_by_id=author.user_id,
        )
        keep_results([locked.pk], given)
        data = {"cut": str(uid), "height_m": height_m}
        events.record(author, "dissection.cut_added", "dissection", locked.uid, tree_id=locked.tree_id, data=data)
    return made, True


def _check_cut(dissection: Dissection, cut: CutRecord, uid: uuid.UUID) -> tuple[float, Given]:
    """The height of a cut that the method takes, by itself and among the others, and the stem. Raises Invalid."""
    if cut.measured.get("height_m") is None:
        raise Invalid.field("#/height_m", "say it: a cut that comes by itself has no cut before it")
    try:
        method.check_cut(dict(cut.measured))
    except MethodProblem as problem:
        raise Invalid.fields(_pointers(problem.fields)) from problem
    height_m = float(cut.measured["height_m"])
    new = DissectionCut(uid=uid, height_m=height_m, measured=dict(cut.measured))
    others = list(dissection.cuts.all())
    asked = dissections.request(dissection.measured, dissection.tree, [*others, new])
    try:
        return height_m, Given(asked, dissections.rebuild(asked))
    except MethodProblem as problem:
        raise Invalid.fields([_of_cut(problem, sorted(row.height_m for row in others), height_m)]) from problem


def _of_cut(problem: MethodProblem, others: list[float], height_m: float) -> FieldProblem:
    """The first problem of the whole, said of the cut that brought it."""
    name = problem.fields[0].pointer.split("/")[-1]
    at = "#/height_m" if name in ("height_m", "cuts") or not name else f"#/{name}"
    if name == "height_m":
        near = min(others, key=lambda one: abs(one - height_m))
        return FieldProblem(at, f"there is a cut at {near:g} m already")
    return FieldProblem(at, problem.fields[0].detail)
