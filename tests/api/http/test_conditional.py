"""Conditional requests, after RFC 9110 sections 8.8 and 13 and RFC 6585 section 3."""

import pytest
from django.test import RequestFactory
from rest_framework.request import Request

from api.http import conditional
from api.http.kinds import PreconditionRequired
from inventory.problems import Invalid, Stale
from tests.support import build
from tests.support.http import V1, as_role, caller, pointers, problem

TAG = conditional.etag(7, {"a": 1})


def sent(rf: RequestFactory, if_match: str | None) -> Request:
    headers = {} if if_match is None else {"If-Match": if_match}
    return Request(rf.patch("/", headers=headers))


def test_the_tag_is_strong_and_follows_version_and_representation() -> None:
    assert TAG.startswith('"7-')
    assert len({TAG, conditional.etag(8, {"a": 1}), conditional.etag(7, {"a": 2})}) == 3
    assert conditional.etag(7, {"b": 2, "a": 1}) == conditional.etag(7, {"a": 1, "b": 2})


def test_a_matching_tag_gives_the_version(rf: RequestFactory) -> None:
    for header in (TAG, f'"1-aaaaaaaaaaaa", {TAG}', "*", f" {TAG} "):
        assert conditional.matched_version(sent(rf, header), 7) == 7


def test_without_if_match_a_change_is_refused(rf: RequestFactory) -> None:
    for header in (None, "", " "):
        with pytest.raises(PreconditionRequired):
            conditional.matched_version(sent(rf, header), 7)


def test_another_version_a_weak_tag_or_a_foreign_tag_is_stale(rf: RequestFactory) -> None:
    for header in (conditional.etag(6, {}), f"W/{TAG}", '"7"', '"x"', '""'):
        with pytest.raises(Stale):
            conditional.matched_version(sent(rf, header), 7)


def test_what_is_no_list_of_tags_is_invalid(rf: RequestFactory) -> None:
    for header in ("7", "7-abc", TAG.strip('"'), f"{TAG} {TAG}", "*, *"):
        with pytest.raises(Invalid):
            conditional.matched_version(sent(rf, header), 7)


@pytest.mark.django_db
def test_an_unchanged_tree_is_not_sent_again(city: object) -> None:
    tree = build.tree()
    client = as_role("forester")
    address = f"{V1}/trees/{tree.uid}"
    first = client.get(address)
    for header in (first["ETag"], f"W/{first['ETag']}", f'"0", {first["ETag"]}', "*"):
        again = client.get(address, headers={"If-None-Match": header})
        assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
        assert "Authorization" in again["Vary"]
    assert client.get(address, headers={"If-None-Match": '"0"'}).status_code == 200
    assert client.head(address)["ETag"] == first["ETag"]
    # Another representation has another tag: other units, another reader.
    assert client.get(address, {"units": "us"})["ETag"] != first["ETag"]
    assert caller().get(address)["ETag"] != first["ETag"]


@pytest.mark.django_db
def test_a_change_on_an_old_version_is_refused_and_changes_nothing(city: object) -> None:
    tree = build.tree()
    client = as_role("forester")
    address = f"{V1}/trees/{tree.uid}"
    old = client.get(address)["ETag"]
    body = problem(client.patch(address, {"note": "one"}), 428, "precondition-required")
    assert pointers(body) == set()
    assert client.patch(address, {"note": "two"}, headers={"If-Match": old}).status_code == 200
    problem(client.patch(address, {"note": "three"}, headers={"If-Match": old}), 412, "stale")
    assert client.get(address).json()["note"] == "two"
