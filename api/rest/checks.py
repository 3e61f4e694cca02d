"""Required checks: what must be seen again, by when and why."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.fields import Body, Day, Text, Uid, Word
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.inspection_shapes import CheckShown
from api.rest.shapes import listed
from assessments import queries, services
from assessments.models import required_check
from inventory import queries as inventory

TAGS = ["checks"]


class CheckBody(Body):
    """A check that is asked for; the `uid` is made by the client."""

    uid = Uid()
    kind = Word(required_check.ASKED_KINDS)
    due_on = Day()
    why = Text()


class Withdrawal(Body):
    """Why a check need not be made."""

    why = Text()


class Checks(View):
    """The checks of a tree."""

    permission_classes = [may_by_method(GET="assessments.view", POST="checks.order")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(operation_id="checks_of_tree", summary="Required checks", responses=listed(CheckShown()), tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The open ones by due date, then those closed last; without paging, `limit` at most."""
        rows = queries.checks_of(inventory.tree(uid))[: self.query["limit"]]
        return paging.answer(request, CheckShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="checks_ask",
        summary="Ask for a check",
        request=CheckBody,
        responses={201: CheckShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Ask for a tree to be seen by a day. The same uid and content again gives the same answer."""
        said: dict[str, Any] = self.read(CheckBody)
        check = services.ask_check(self.author, inventory.tree(uid), **said)
        check.refresh_from_db()
        return Response(CheckShown(check).data, status=201)


class Withdraw(View):
    """An open check."""

    permission_classes = [may("checks.order")]

    @extend_schema(
        operation_id="checks_withdraw",
        summary="Withdraw a check",
        request=Withdrawal,
        responses=CheckShown,
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Close it without an inspection, with a reason; 409 where it is closed already."""
        check = services.withdraw_check(self.author, uid, self.read(Withdrawal)["why"])
        return Response(CheckShown(check).data)


urlpatterns = [
    path("trees/<uuid:uid>/checks", Checks.as_view(), name="tree-checks"),
    path("checks/<uuid:uid>/withdraw", Withdraw.as_view(), name="withdraw-check"),
]
