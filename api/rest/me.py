"""Who is signed in, and the preferences that person may set."""

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields
from api.http.permissions import SIGNED_IN, may
from api.http.view import View
from api.rest import shapes
from inventory.people.models import UNITS, User


class Preferences(fields.Body):
    """What a person may set: the units in which sizes are shown beside SI."""

    units = fields.Word(choices=UNITS)


class Me(View):
    """Oneself."""

    permission_classes = [may(SIGNED_IN)]

    @extend_schema(operation_id="me", summary="Who is signed in", responses=shapes.Me, tags=["me"])
    def get(self, request: Request) -> Response:
        """Name, roles, preferences."""
        return Response(_shown(self.person))

    @extend_schema(
        operation_id="me_edit", summary="Set one's units", request=Preferences, responses=shapes.Me, tags=["me"]
    )
    def patch(self, request: Request) -> Response:
        """Set the units; they hold wherever `?units=` is absent."""
        changes = self.read(Preferences)
        person = self.person
        if person is not None:
            person.units = changes["units"]
            person.save(update_fields=["units"])
        return Response(_shown(person))


def _shown(person: User | None) -> dict[str, Any]:
    return dict(shapes.Me(person).data) | {"roles": sorted(person.roles) if person else []}


urlpatterns = [path("me", Me.as_view(), name="me")]
