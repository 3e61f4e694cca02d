"""Long work: how far it is, what came of it, cancel; and the recompute, asked for as a job."""

import uuid
from typing import Any

from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.idempotency import idempotent
from api.http.permissions import SIGNED_IN, may
from api.http.view import View
from api.rest.shapes import listed
from inventory.people.models import User
from inventory.problems import Missing
from workers import jobs
from workers.models import KINDS, STATES, Job

TAGS = ["jobs"]


class JobListed(serializers.Serializer[Any]):
    """One piece of long work, without what came of it: that of a survey or merge may be megabytes."""

    uid = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=KINDS)
    state = serializers.ChoiceField(choices=STATES)
    done = serializers.IntegerField(help_text="Of `total`, in the unit of the step.")
    total = serializers.IntegerField(allow_null=True)
    step = serializers.CharField(help_text="What it is at.")
    problem = serializers.JSONField(allow_null=True, help_text="A problem document, where it failed.")
    cancel_asked = serializers.BooleanField()
    asked_at = serializers.DateTimeField()
    started_at = serializers.DateTimeField(allow_null=True)
    finished_at = serializers.DateTimeField(allow_null=True)


class JobShown(JobListed):
    """One piece of long work."""

    result = serializers.JSONField(allow_null=True, help_text="What came of it, once done.")


class JobView(View):
    """The base: who asks is always signed in; others' jobs are not found unless the role may see them."""

    permission_classes = [may(SIGNED_IN)]

    @property
    def user(self) -> User:
        """Who asks. Only behind a permission that is not public."""
        person = self.person
        if person is None:
            raise RuntimeError("a job is never shown to the public")
        return person

    def job(self, uid: uuid.UUID) -> Job:
        """A job that this person may see. Raises Missing."""
        found = jobs.visible_to(self.user).filter(uid=uid).first()
        if found is None:
            raise Missing(f"there is no job {uid}")
        return found


class Jobs(JobView):
    """The jobs one may see."""

    params = {
        "GET": (
            params.word("kind", "Kind of work.", KINDS),
            params.word("state", "How it stands.", STATES),
            *paging.PAGING,
        )
    }

    @extend_schema(operation_id="jobs_list", summary="List the jobs", responses=listed(JobListed()), tags=TAGS)
    def get(self, request: Request) -> Response:
        """A page of jobs, the oldest first: one's own, and all for those who may see all. Read one for its result."""
        chosen = {name: self.query[name] for name in ("kind", "state") if self.query[name]}
        page = paging.page(jobs.visible_to(self.user).filter(**chosen).defer("result", "params"), self.query)
        return paging.answer(request, JobListed(page.rows, many=True).data, page.cursor)


class OneJob(JobView):
    """One job."""

    @extend_schema(operation_id="job_read", summary="How far a job is", responses=JobShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """Poll this every second or two until `finished_at` is set."""
        return Response(JobShown(self.job(uid)).data)


class CancelJob(JobView):
    """Asks a job to stop."""

    @extend_schema(operation_id="job_cancel", summary="Cancel a job", request=None, responses=JobShown, tags=TAGS)
    @idempotent
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Nothing of a cancelled load stays; of a cancelled recompute the blocks already done stay."""
        job = self.job(uid)
        if job.asked_by_id != self.user.pk and not self.may("jobs.cancel"):
            self.permission_denied(request, "only who asked for it, or a forester, may cancel it")
        return Response(JobShown(jobs.cancel(self.author, uid)).data)


class Recompute(View):
    """Asks for a recompute of every tree."""

    permission_classes = [may("recompute.run")]

    @extend_schema(
        operation_id="recompute", summary="Recompute every tree", request=None, responses={202: JobShown}, tags=TAGS
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Computes risk class, priority and due dates again; the nightly pass does the same."""
        return accepted(jobs.ask(self.author, "recompute", {}))


def accepted(job: Job) -> Response:
    """202 with the job's address, for every request that long work follows from."""
    job.refresh_from_db()
    response = Response(JobShown(job).data, status=202)
    response["Location"] = reverse("api:job", args=[job.uid])
    return response


urlpatterns = [
    path("jobs", Jobs.as_view(), name="jobs"),
    path("jobs/<uuid:uid>", OneJob.as_view(), name="job"),
    path("jobs/<uuid:uid>/cancel", CancelJob.as_view(), name="job-cancel"),
    path("recompute", Recompute.as_view(), name="recompute"),
]
