"""Problem documents: one form for every refusal, whoever raises it, and nothing of the inside."""

import json
from typing import Any

import pytest
from django.db import DataError, IntegrityError, OperationalError, connection, transaction
from django.http import HttpRequest
from django.test import Client, RequestFactory, override_settings
from django.urls import path
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import errors
from api.http.kinds import KINDS
from api.http.permissions import PUBLIC, may
from api.http.problem import as_refusal, pointers
from api.http.view import View
from inventory import problems
from inventory.history import SERVICE
from inventory.models import Measurement, Tree, Zone
from inventory.problems import FieldProblem
from tests.support import build
from tests.support.http import V1, as_role, caller, problem

pytestmark = pytest.mark.django_db


class Failing(View):
    """Raises what the query asks for."""

    permission_classes = [may(PUBLIC)]
    params = {}

    def get(self, request: Request, name: str) -> Response:
        """Raise it."""
        raise RAISED[name]


RAISED: dict[str, Exception] = {
    "defect": RuntimeError("secret of the inside: SELECT password"),
    "throttled": exceptions.Throttled(wait=12.3),
    "database": OperationalError("connection to server at 10.0.0.1 failed: SELECT"),
    "stale": problems.Stale("it is now version 3"),
}
urlpatterns = [path("api/v1/raise/<name>", Failing.as_view()), path("page/<name>", Failing.as_view())]
handler404, handler500 = errors.not_found, errors.failed


def test_nested_serializer_errors_become_json_pointers() -> None:
    detail = {"findings": [{}, {"azimuth_deg": ["too large"]}], "non_field_errors": ["a"], "a/b~": ["c"]}
    assert pointers(detail) == [
        FieldProblem("#/findings/1/azimuth_deg", "too large"),
        FieldProblem("#", "a"),
        FieldProblem("#/a~1b~0", "c"),
    ]


def test_every_refusal_of_the_services_has_its_kind_explained() -> None:
    refusals = [problems.Refusal, problems.Invalid, problems.NotAllowed, problems.Missing, problems.Conflict]
    for refusal in [*refusals, problems.Stale]:
        assert KINDS[refusal.kind].status == refusal.status


def test_an_unknown_address_below_the_api_is_a_problem_and_elsewhere_a_page(city: object) -> None:
    problem(caller().get(f"{V1}/nothing"), 404, "not-found")
    page = Client().get("/nothing")
    assert page.status_code == 404
    assert page["Content-Type"].startswith("text/html")


@override_settings(ROOT_URLCONF=__name__)
def test_a_defect_tells_nothing_of_the_inside() -> None:
    body = problem(caller().get("/api/v1/raise/defect"), 500, "failed")
    assert "secret" not in json.dumps(body)


@override_settings(ROOT_URLCONF=__name__)
def test_a_lost_database_is_unavailable_with_a_time_to_try_again() -> None:
    response = caller().get("/api/v1/raise/database")
    problem(response, 503, "unavailable")
    assert int(response["Retry-After"]) > 0


@override_settings(ROOT_URLCONF=__name__)
def test_a_throttled_caller_is_told_how_long_to_wait() -> None:
    response = caller().get("/api/v1/raise/throttled")
    problem(response, 429, "too-many")
    assert response["Retry-After"] == "13"


def test_a_page_that_cannot_be_made_still_answers(rf: RequestFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> None:
        raise OperationalError

    monkeypatch.setattr("django.template.loader.get_template", broken)
    response = errors.failed(rf.get("/trees"))
    assert response.status_code == 500
    assert response["Content-Type"].startswith("text/plain")


def test_a_method_that_is_not_known_names_those_that_are() -> None:
    response = caller().put(f"{V1}/species", {})
    problem(response, 405, "method")
    assert {"GET", "HEAD"} <= {word.strip() for word in response["Allow"].split(",")}


def test_only_what_is_made_here_may_be_asked_for() -> None:
    problem(caller().get(f"{V1}/species", HTTP_ACCEPT="text/csv"), 406, "not-acceptable")


def test_another_media_type_is_not_read(city: object) -> None:
    response = as_role("forester").post(f"{V1}/zones", "<zone/>", content_type="application/xml")
    problem(response, 400, "invalid")  # no key yet: the cheapest check comes first
    response = as_role("forester").post(
        f"{V1}/zones", "<zone/>", content_type="application/xml", headers={"Idempotency-Key": "k"}
    )
    problem(response, 415, "media-type")


def test_the_public_is_told_how_to_sign_in_where_it_must() -> None:
    response = caller().get(f"{V1}/me")
    problem(response, 401, "not-signed-in")
    assert response["WWW-Authenticate"] == "Bearer"


@pytest.mark.parametrize("token", ["x", "a" * 64, "\udcff", "a b", "%00", ""])
def test_a_wrong_token_is_never_more_than_not_signed_in(token: str) -> None:
    client = caller()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}".encode("utf-8", "surrogateescape").decode("latin-1"))
    problem(client.get(f"{V1}/me"), 401, "not-signed-in")


def test_a_wrong_host_is_a_problem() -> None:
    problem(caller().get(f"{V1}/species", HTTP_HOST="evil.example"), 400, "refused")


def raised_by(statement: str, *values: Any) -> Exception:
    with pytest.raises((IntegrityError, DataError)) as caught, SERVICE.acting("try"), connection.cursor() as cursor:
        cursor.execute(statement, values)
    return caught.value


def test_a_broken_constraint_names_the_field_and_not_the_statement(city: object) -> None:
    tree = build.tree(tag="T1")
    other = build.tree(5, 5)
    cases = [
        (raised_by("UPDATE tree SET tag = 'T1' WHERE id = %s", other.pk), 409, "#/tag"),
        (raised_by("UPDATE tree SET state = 'gone' WHERE id = %s", tree.pk), 400, "#/state"),
        (raised_by("UPDATE tree SET dbh_cm = -1 WHERE id = %s", tree.pk), 400, "#/dbh_cm"),
        (raised_by("UPDATE tree SET species_text = NULL WHERE id = %s", tree.pk), 400, "#/species_text"),
        (raised_by("UPDATE tree SET species_id = -1 WHERE id = %s; SET CONSTRAINTS ALL IMMEDIATE", tree.pk), 409, ""),
        (raised_by("UPDATE tree SET version = 99999999999 WHERE id = %s", tree.pk), 400, ""),
    ]
    for error, status, pointer in cases:
        refusal = as_refusal(error)
        assert refusal is not None
        assert refusal.status == status
        assert [one.pointer for one in refusal.errors] == ([pointer] if pointer else [])
        assert "UPDATE" not in refusal.detail
    assert Measurement.objects.count() == 2


def test_a_write_outside_an_act_stays_a_defect_of_ours(city: object) -> None:
    tree = build.tree()
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        Tree.objects.filter(pk=tree.pk).update(note="x")
    assert as_refusal(caught.value) is None


def test_the_request_id_is_the_one_in_the_history(city: object) -> None:
    forester = build.user("forester")
    area = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}
    response = caller(forester).post(
        f"{V1}/zones",
        {"code": "Z", "name": "Zone", "area": area},
        headers={"Idempotency-Key": "k", "X-Request-ID": "forged"},
    )
    assert response.status_code == 201
    with connection.cursor() as cursor:
        cursor.execute("SELECT metadata->>'request', metadata->>'user' FROM pghistory_context")
        assert cursor.fetchall() == [(response["X-Request-ID"], str(forester.pk))]
    assert response["X-Request-ID"] != "forged"
    assert Zone.objects.get().code == "Z"


def test_a_form_out_of_date_is_a_page_for_people_and_a_problem_for_programs(rf: RequestFactory) -> None:
    requests: list[HttpRequest] = [rf.post("/api/v1/zones"), rf.post("/sign-in")]
    assert [errors.csrf(request)["Content-Type"].split(";")[0] for request in requests] == [
        "application/problem+json",
        "text/html",
    ]
