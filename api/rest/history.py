"""The history of a tree: each act with who, when and why, and what it changed field by field."""

import uuid
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import listed
from assessments import past as assessed
from assessments.works import past as ordered
from inventory import past, queries

# Every kind of row that hangs on a tree; each room adds its own.
SOURCES: Final = (*past.TREE_SOURCES, *assessed.SOURCES, *ordered.SOURCES)
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)


class FieldChange(serializers.Serializer[Any]):
    """One field before and after; null where nothing was there."""

    field = serializers.CharField()
    before = serializers.JSONField()
    after = serializers.JSONField()


class RowChange(serializers.Serializer[Any]):
    """What an act did to one row."""

    noun = serializers.CharField()
    uid = serializers.CharField(allow_null=True)
    action = serializers.ChoiceField(choices=["insert", "update"])
    fields_changed = FieldChange(many=True)


class ActShown(serializers.Serializer[Any]):
    """One act."""

    at = serializers.DateTimeField()
    who = serializers.CharField(allow_blank=True, help_text="Empty: the service itself.")
    why = serializers.CharField()
    request = serializers.CharField(allow_blank=True)
    rows = RowChange(many=True)


class History(View):
    """The history of one tree."""

    permission_classes = [may("history.view")]
    params = {"GET": (paging.LIMIT, paging.after(int, int, str))}

    @extend_schema(
        operation_id="trees_history", summary="The history of a tree", responses=listed(ActShown()), tags=["trees"]
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """A page of acts, the newest first."""
        acts = past.of_tree(queries.tree(uid), SOURCES)
        if self.query["after"]:
            last = tuple(self.query["after"])
            acts = [act for act in acts if _place(act) > last]
        page = paging.cut(acts, self.query["limit"], lambda act: paging.encode(*_place(act)))
        return paging.answer(request, [_shown(act) for act in page.rows], page.cursor)


def _place(act: past.Act) -> tuple[int, int, str]:
    """Where an act stands in the list, the newest first (microseconds)."""
    return -((act.at - _EPOCH) // timedelta(microseconds=1)), -act.number, str(act.key)


def _shown(act: past.Act) -> dict[str, Any]:
    rows = [
        {
            "noun": row.noun,
            "uid": row.uid,
            "action": row.action,
            "fields_changed": [asdict(change) for change in row.fields],
        }
        for row in act.rows
    ]
    return {"at": act.at, "who": act.who, "why": act.why, "request": act.request, "rows": rows}


urlpatterns = [path("trees/<uuid:uid>/history", History.as_view(), name="tree-history")]
