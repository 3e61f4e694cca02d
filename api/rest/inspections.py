"""Inspections: recorded, previewed, read; emergencies answered; the catalogue of findings; defects over the years."""

import uuid
from dataclasses import asdict, replace
from typing import Any

from django.http import HttpResponse
from django.urls import path, reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, permissions
from api.http.view import View
from api.rest import inspection_bodies as bodies
from api.rest import inspection_shapes as shapes
from api.rest.shapes import listed
from assessments import calibrations, queries, services
from assessments.methods import catalogue
from assessments.models import Inspection
from assessments.records import ActionRecord
from assessments.services.emergencies import Emergency
from assessments.services.emergencies import answer as emergency_answer
from assessments.suggestions import Suggestions
from inventory import calendar
from inventory import queries as inventory

TAGS = ["inspections"]
ADVICE = "Advice to a qualified assessor, who decides; local codes and licensed practice come first."


AFTER = replace(paging.after(str), read=lambda text: uuid.UUID(paging.decode(text, str)[0]))


class Inspections(View):
    """The inspections of a tree."""

    permission_classes = [permissions.may_by_method(GET="assessments.view", POST="inspections.record")]
    params = {"GET": (paging.LIMIT, AFTER)}

    @extend_schema(
        operation_id="inspections_of_tree",
        summary="The inspections of a tree",
        responses=listed(shapes.InspectionShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first, with all their parts."""
        rows = queries.inspections_of(inventory.tree(uid), before=self.query["after"])
        page = paging.cut(list(rows[: self.query["limit"] + 1]), self.query["limit"], _cursor)
        return paging.answer(request, shapes.InspectionShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="inspections_record",
        summary="Record an inspection",
        request=bodies.InspectionBody,
        responses={201: shapes.RecordedShown, 200: shapes.RecordedShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Record an inspection: 201; the same uid and content again: 200 with the stored one; other content: 409.

        An emergency is never refused for being incomplete: it needs no findings and no ratings, and the answer carries
        the number to call and what is still unanswered.
        """
        record = bodies.record(self.read(bodies.InspectionBody))
        today = calendar.today()
        recorded = services.record_inspections(self.author, [(inventory.tree(uid), record)], today)[0]
        shown = _shown(queries.inspection(record.uid), recorded.emergency)
        where = reverse("api:inspection", args=[record.uid])
        return Response(shown, status=201 if recorded.created else 200, headers={"Location": where})


def _cursor(row: Inspection) -> str:
    return paging.encode(str(row.uid))


def _shown(inspection: Inspection, emergency: Emergency | None) -> dict[str, Any]:
    data = dict(shapes.InspectionShown(inspection).data)
    answer = {**asdict(emergency), "advice": emergency.advice} if emergency else None
    return {**data, "emergency_answer": answer}


class Preview(View):
    """What the methods suggest for an inspection."""

    permission_classes = [permissions.may("inspections.record")]

    @extend_schema(
        operation_id="inspections_preview",
        summary="What the methods suggest",
        description=f"Stores nothing. {ADVICE}",
        request=bodies.InspectionBody,
        responses=shapes.PreviewShown,
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Suggest without storing anything."""
        record = bodies.record(self.read(bodies.InspectionBody))
        suggested = services.preview(inventory.tree(uid), record, calendar.today())
        return Response(shapes.PreviewShown(_suggested(suggested)).data)


def _suggested(found: Suggestions) -> dict[str, Any]:
    fixes = found.corrections.sections if found.corrections else ()
    return {
        **asdict(found),
        "emergency_phone": inventory.municipality().emergency_phone,
        "corrections": [calibrations.as_json(one) | {"calibration": one.calibration} if one else None for one in fixes],
        "failure_uncorrected": found.uncorrected.category if found.uncorrected else None,
    }


class One(View):
    """One inspection."""

    permission_classes = [permissions.may("assessments.view")]

    @extend_schema(
        operation_id="inspections_read", summary="One inspection", responses=shapes.InspectionShown, tags=TAGS
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With all its parts."""
        return Response(shapes.InspectionShown(queries.inspection(uid)).data)


class EmergencyActions(View):
    """What was done on the spot in an emergency, told after its inspection."""

    permission_classes = [permissions.may("inspections.record")]

    @extend_schema(
        operation_id="inspections_answer_emergency",
        summary="Say what was done on the spot",
        request=bodies.LaterActionsBody,
        responses={201: shapes.RecordedShown, 200: shapes.RecordedShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Add answers; nothing that was told before is replaced. The same uid and content again: 200."""
        inspection = queries.inspection(uid)
        action = ActionRecord(**self.read(bodies.LaterActionsBody))
        _, created = services.record_actions(self.author, inspection, action)
        again = queries.inspection(uid)
        answer = emergency_answer(again, list(again.emergency_actions.all()), timezone.now())
        return Response(_shown(again, answer), status=201 if created else 200)


class FindingKinds(View):
    """The catalogue of findings."""

    permission_classes = [permissions.may(permissions.SIGNED_IN)]

    @extend_schema(
        operation_id="finding_kinds",
        summary="The kinds of finding",
        responses=listed(shapes.KindShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """Every kind with its parts and measures, for forms."""
        kinds = [{**vars(kind), "measures": list(kind.measures.values())} for kind in catalogue.KINDS.values()]
        return paging.answer(request, shapes.KindShown(kinds, many=True).data, None)


class Defects(View):
    """The defects of a tree."""

    permission_classes = [permissions.may("assessments.view")]

    @extend_schema(
        operation_id="defects_of_tree",
        summary="Each defect across the years",
        responses=listed(shapes.DefectShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """Each with its history, the one seen last first."""
        defects = queries.defect_history(inventory.tree(uid))
        return paging.answer(request, shapes.DefectShown(defects, many=True).data, None)


urlpatterns = [
    path("trees/<uuid:uid>/inspections", Inspections.as_view(), name="tree-inspections"),
    path("trees/<uuid:uid>/inspections/preview", Preview.as_view(), name="inspection-preview"),
    path("trees/<uuid:uid>/defects", Defects.as_view(), name="tree-defects"),
    path("inspections/<uuid:uid>", One.as_view(), name="inspection"),
    path("inspections/<uuid:uid>/emergency-actions", EmergencyActions.as_view(), name="emergency-actions"),
    path("finding-kinds", FindingKinds.as_view(), name="finding-kinds"),
]
