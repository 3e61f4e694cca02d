"""Domain events: what has happened since a position, in order, none missed."""

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import many
from inventory import events


class EventShown(serializers.Serializer[Any]):
    """News of one transaction."""

    position = serializers.IntegerField()
    kind = serializers.CharField()
    subject = serializers.CharField()
    subject_uid = serializers.UUIDField(allow_null=True)
    data = serializers.DictField()  # type: ignore[assignment]
    happened_at = serializers.DateTimeField()
    request = serializers.CharField(allow_blank=True)


class EventPage(serializers.Serializer[Any]):
    """Events in order; ask again after `position`."""

    items = EventShown(many=True)
    next = serializers.URLField(allow_null=True)
    position = serializers.IntegerField(help_text="The position to go on after, now or later.")


class Events(View):
    """Changes since."""

    permission_classes = [may("events.view")]
    params = {
        "GET": (
            params.integer(
                "after", "Position after which to read; 0 from the beginning.", low=0, high=2**62, default=0
            ),
            paging.LIMIT,
        )
    }

    @extend_schema(operation_id="events_list", summary="What happened since", responses=EventPage, tags=["events"])
    def get(self, request: Request) -> Response:
        """A page of events; positions are given after commit, so that no reader by position misses one."""
        after, limit = self.query["after"], self.query["limit"]
        page = paging.cut(events.since(after, limit + 1), limit, lambda event: str(event.position))
        position = page.rows[-1].position if page.rows else after
        return paging.answer(request, many(EventShown, page.rows), page.cursor, position=position)


urlpatterns = [path("events", Events.as_view(), name="events")]
