"""The OpenAPI document: valid, complete, and kept by the service (schemathesis calls every operation in-process)."""

import contextlib
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import schemathesis
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular import drainage
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from knox.models import get_token_model
from openapi_spec_validator import validate
from schemathesis import GenerationMode, checks
from schemathesis.core.failures import FailureGroup

from api.rest import schema as written
from api.rest.schema import document
from tests.support import build
from tests.support.http import V1, caller

EXAMPLES = 5
# Left out: positive_data_acceptance (a polygon that crosses itself, or two contradicting fields, keep to the schema
# and are refused all the same), ignored_auth (much is open to the public; tests/api/rest/test_roles.py has each),
# use_after_free and ensure_resource_availability (they need links between operations).
CHECKS = [
    checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.negative_data_rejection,
    checks.unsupported_method,
    checks.missing_required_header,
]
MATCH = ("patch", "put")
SLOW = list(HealthCheck)


def operations() -> list[tuple[str, str]]:
    """Path and method of each operation."""
    return [(path, method) for path, found in document()["paths"].items() for method in found]


def test_the_document_is_made_once_however_many_ask_at_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []

    def slowly(*_: Any, **__: Any) -> dict[str, Any]:
        made.append(1)
        time.sleep(0.05)
        return {"openapi": "3.1.0"}

    monkeypatch.setattr(SchemaGenerator, "get_schema", slowly)
    written._made.cache_clear()
    try:
        with ThreadPoolExecutor(4) as pool:
            found = list(pool.map(lambda _: written.document(), range(4)))
    finally:
        written._made.cache_clear()
    assert len(made) == 1
    assert found == [{"openapi": "3.1.0"}] * 4


def test_the_document_is_valid_openapi_3_1() -> None:
    assert document()["openapi"].startswith("3.1")
    validate(document())


def test_making_the_document_warns_of_nothing() -> None:
    written._made.cache_clear()
    drainage.reset_generator_stats()
    document()
    assert drainage.GENERATOR_STATS._warn_cache == {}
    assert drainage.GENERATOR_STATS._error_cache == {}


def test_every_operation_has_an_id_of_its_own_a_summary_and_its_problems() -> None:
    found = [operation for path in document()["paths"].values() for operation in path.values()]
    ids = [operation["operationId"] for operation in found]
    assert len(set(ids)) == len(ids)
    for operation in found:
        assert operation["summary"], operation["operationId"]
        for status in ("400", "401", "403", "429", "500"):
            assert operation["responses"][status] == {"$ref": "#/components/responses/Problem"}


def test_the_headers_that_writing_needs_are_documented() -> None:
    required = {
        (path, method): {one["name"] for one in operation.get("parameters", ()) if one["in"] == "header"}
        for path, methods in document()["paths"].items()
        for method, operation in methods.items()
    }
    assert required[(f"{V1}/trees", "post")] == {"Idempotency-Key"}
    assert required[(f"{V1}/trees/{{uid}}", "patch")] == {"If-Match"}
    assert required[(f"{V1}/trees/{{uid}}/measurements", "post")] == set()  # a fact with a uid of its own


def test_bodies_that_are_sent_allow_no_unknown_member() -> None:
    schemas = document()["components"]["schemas"]
    uploads = "FileUploadRequest"  # a form; what it holds besides the file is not read
    sent = {name: schema for name, schema in schemas.items() if name.endswith("Request") and name != uploads}
    assert sent
    assert [name for name, schema in sent.items() if schema.get("additionalProperties") is not False] == []


@pytest.mark.django_db
def test_the_document_is_served_as_json_with_an_etag(city: object) -> None:
    answer = caller().get(f"{V1}/openapi.json")
    assert answer["Content-Type"] == "application/json"
    assert answer.json() == document()
    assert caller().get(f"{V1}/openapi.json", headers={"If-None-Match": answer["ETag"]}).status_code == 304


@pytest.fixture
def _one_connection() -> Iterator[None]:
    """Requests through WSGI leave the test's database connection open, as the test client does."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


@pytest.mark.usefixtures("_one_connection")
@pytest.mark.django_db
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["right", "wrong"])
@pytest.mark.parametrize(("path", "method"), operations())
def test_the_service_keeps_to_its_document(city: object, path: str, method: str, mode: GenerationMode) -> None:
    build.zone()
    tree = build.tree(tag="T1")
    operation = schemathesis.openapi.from_wsgi(f"{V1}/openapi.json", WSGIHandler())[path][method]
    known = {"zone_id": tree.zone_id, "uid": str(tree.uid)}
    names = {name for name in known if f"{{{name}}}" in path}
    given_values: dict[str, Any] = {"path_parameters": {name: known[name] for name in names}} if names else {}
    _, token = get_token_model().objects.create(build.user("forester"))
    sent = {"Authorization": f"Bearer {token}"}
    if method in MATCH:
        # Given, not generated: a header that is made wrong and then replaced by the right one proves nothing.
        sent["If-Match"] = "*"
        given_values["headers"] = dict(sent)
    failures: dict[str, str] = {}

    @settings(max_examples=EXAMPLES, derandomize=True, deadline=None, database=None, suppress_health_check=SLOW)
    @given(case=operation.as_strategy(mode, **given_values))
    def run(case: Any) -> None:
        try:
            case.call_and_validate(headers=sent, checks=CHECKS)
        except FailureGroup as group:
            failures.update({str(failure.title): f"{failure}\n{group}" for failure in group.exceptions})

    with contextlib.suppress(Unsatisfiable):  # nothing can be wrong with a request that takes nothing
        run()
    assert not failures, "\n".join(failures.values())
