"""Facts that a client makes with a `uid` of its own: sent again they give the same answer, other content is refused."""

import uuid
from collections.abc import Sequence
from datetime import date
from typing import Any, Final, TypeVar

from django.db import models

from inventory import events, rules, services
from inventory.history import Author
from inventory.models import Measurement, Support, Tree
from inventory.problems import Conflict, FieldProblem, Invalid
from inventory.services import Size

M = TypeVar("M", bound=models.Model)
_SIZES: Final = ("dbh_cm", "dbh_low_cm", "height_m", "crown_m")


def record_measurement(author: Author, tree: Tree, size: Size, today: date) -> tuple[Measurement, bool]:
    """Record a measurement once; return it and whether it is new.

    Raises Invalid where a rule is broken, Conflict where its uid came with other content before.
    """
    check_size(size, today)
    with author.acting("tree measured"):
        _hold(tree)
        kept = Measurement.objects.filter(uid=size.uid).first()
        if kept:
            return _same(kept, _content(tree, size), "measurement"), False
        return services.measure(author, tree, size), True


def _content(tree: Tree, size: Size) -> dict[str, Any]:
    stems = list(size.stems_cm) or None
    return {
        "tree_id": tree.pk,
        "measured_on": size.measured_on,
        "method": size.method,
        "stems_cm": stems,
        "dbh_cm": rules.quadratic_diameter_cm(size.stems_cm) if stems else size.dbh_cm,
        "dbh_low_cm": size.dbh_low_cm,
        "dbh_high_cm": size.dbh_high_cm,
        "dbh_height_m": size.dbh_height_m,
        "height_m": size.height_m,
        "crown_m": size.crown_m,
        "crown_base_m": size.crown_base_m,
        "note": size.note,
    }


def check_size(size: Size, today: date, at: str = "#") -> Size:
    """Return the size if it holds to the rules that no single field tells. Raises Invalid; `at` is its pointer."""
    wrong = rules.not_in_the_future("#/measured_on", size.measured_on, today)
    if not size.stems_cm and all(getattr(size, name) is None for name in _SIZES):
        wrong.append(FieldProblem("#", "holds no size: give dbh_cm, stems_cm, a class, height_m or crown_m"))
    if size.stems_cm and size.dbh_cm is not None:
        wrong.append(FieldProblem("#/dbh_cm", "follows from stems_cm: give one of the two"))
    wrong += _ordered(size, "dbh_low_cm", "dbh_high_cm") + _ordered(size, "crown_base_m", "height_m")
    if wrong:
        raise Invalid.fields(FieldProblem(at + error.pointer[1:], error.detail) for error in wrong)
    return size


def _ordered(size: Size, low: str, high: str) -> list[FieldProblem]:
    below, above = getattr(size, low), getattr(size, high)
    if below is not None and above is not None and below > above:
        return [FieldProblem(f"#/{low}", f"must not exceed {high}")]
    return []


def record_support(
    author: Author,
    tree: Tree,
    *,
    uid: uuid.UUID,
    kind: str,
    height_m: float,
    installed_on: date,
    today: date,
    note: str = "",
) -> tuple[Support, bool]:
    """Record a support once; return it and whether it is new. Raises Invalid, Conflict."""
    wrong = rules.not_in_the_future("#/installed_on", installed_on, today)
    if wrong:
        raise Invalid.fields(wrong)
    content = {
        "tree_id": tree.pk,
        "kind": kind,
        "height_m": height_m,
        "installed_on": installed_on,
        "note": note,
    }
    with author.acting("support installed"):
        _hold(tree)
        kept = Support.objects.filter(uid=uid).first()
        if kept:
            return _same(kept, content, "support"), False
        made = Support.objects.create(uid=uid, **content)
        events.record(author, "support.installed", "support", uid, tree_id=tree.pk)
    return made, True


def measurements(tree: Tree) -> models.QuerySet[Measurement]:
    """The measurements of a tree, with who made them."""
    return Measurement.objects.filter(tree=tree).select_related("measured_by")


def supports(tree: Tree) -> Sequence[Support]:
    """The supports of a tree, the oldest first."""
    return list(Support.objects.filter(tree=tree).order_by("installed_on", "id"))


def _hold(tree: Tree) -> None:
    """Two senders of one fact follow each other, so that the second one finds what the first one wrote."""
    Tree.objects.select_for_update().only("pk").get(pk=tree.pk)


def _same(kept: M, content: dict[str, Any], noun: str) -> M:
    """The kept row where it holds the same content. Raises Conflict naming what differs."""
    differing = [name for name, value in content.items() if getattr(kept, name) != value]
    if differing:
        errors = [FieldProblem(f"#/{name.removesuffix('_id')}", "differs from what is recorded") for name in differing]
        raise Conflict(f"a {noun} with this uid is recorded with other content", errors)
    return kept
