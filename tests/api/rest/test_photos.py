"""Photos by REST: added as a form, seen by those who see the tree, never of another tree, never what is no picture."""

import io
import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from PIL import Image
from rest_framework.test import APIClient

from inventory.models import Attachment, Tree
from tests.support import build, inspections, orders
from tests.support.http import V1, as_role, caller, pointers, problem
from tests.support.reports import picture

pytestmark = pytest.mark.django_db


def send(client: APIClient, tree: Tree, content: bytes | None = None, **fields: Any) -> HttpResponse:
    file = SimpleUploadedFile("photo.exe", picture() if content is None else content, "text/html")
    answer: HttpResponse = client.post(f"{V1}/trees/{tree.uid}/photos", {"file": file} | fields, format="multipart")
    return answer


def test_a_photo_is_added_listed_and_shown_as_jpeg_whatever_it_was_called(city: object) -> None:
    tree, client = build.tree(), as_role("inspector")
    answer = send(client, tree, caption="From the road")
    assert answer.status_code == 201, answer.content
    listed = client.get(f"{V1}/trees/{tree.uid}/photos").json()["items"]
    assert [one["caption"] for one in listed] == ["From the road"]
    shown = client.get(listed[0]["picture"])
    assert shown["Content-Type"] == "image/jpeg"
    assert shown["X-Content-Type-Options"] == "nosniff"
    assert Image.open(io.BytesIO(shown.content)).format == "JPEG"
    small = client.get(listed[0]["small"])
    assert small.status_code == 200


def test_a_photo_sent_twice_is_one_and_other_content_a_conflict(city: object) -> None:
    tree, client, uid = build.tree(), as_role("inspector"), str(uuid.uuid4())
    assert [send(client, tree, uid=uid).status_code for _ in range(2)] == [201, 200]
    problem(send(client, tree, picture((65, 48)), uid=uid), 409, "conflict")
    problem(send(client, build.tree(9), uid=uid), 409, "conflict")
    assert Attachment.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "fields", "wrong"),
    [
        (b"<svg onload='alert(1)'/>", {}, {"#/file"}),
        (b"", {}, {"#/file"}),
        (None, {"about": "finding"}, {"#/about_uid"}),
        (None, {"about": "bench"}, {"#/about"}),
        (None, {"about_uid": "x"}, {"#/about_uid"}),
        (None, {"caption": "x" * 301}, {"#/caption"}),
        (None, {"keep_location": "perhaps"}, {"#/keep_location"}),
        (None, {"sha256": "0" * 64}, {"#/sha256"}),
    ],
)
def test_a_wrong_part_of_the_form_is_named(
    city: object, content: bytes | None, fields: dict[str, Any], wrong: set[str]
) -> None:
    answer = problem(send(as_role("inspector"), build.tree(), content, **fields), 400, "invalid")
    assert pointers(answer) == wrong
    assert not Attachment.objects.exists()


def test_a_photo_of_a_finding_of_another_tree_is_refused_and_one_that_is_not_here_yet_taken(city: object) -> None:
    tree, other, client = build.tree(), build.tree(9), as_role("inspector")
    inspection = inspections.inspected(other, findings=(inspections.finding(),))
    theirs = inspection.findings.get().uid
    answer = problem(send(client, tree, about="finding", about_uid=str(theirs)), 400, "invalid")
    assert pointers(answer) == {"#/about_uid"}
    assert send(client, other, about="finding", about_uid=str(theirs)).status_code == 201
    assert send(client, tree, about="inspection", about_uid=str(uuid.uuid4())).status_code == 201


def test_a_contractor_adds_and_sees_photos_of_its_orders_trees_only(city: object) -> None:
    crew, other = orders.crew(), orders.crew()
    mine, theirs = orders.item(crew).tree, orders.item(other).tree
    client = caller(crew.user)
    assert send(client, mine).status_code == 201
    problem(send(client, theirs), 403, "not-allowed")
    send(as_role("forester"), theirs)
    photo = Attachment.objects.get(tree=theirs)
    problem(client.get(f"{V1}/photos/{photo.uid}/picture.jpg"), 403, "not-allowed")
    problem(client.get(f"{V1}/trees/{theirs.uid}/photos"), 403, "not-allowed")


def test_the_public_sees_no_photo(city: object) -> None:
    tree = build.tree()
    send(as_role("inspector"), tree)
    photo = Attachment.objects.get()
    for address in (f"trees/{tree.uid}/photos", f"photos/{photo.uid}", f"photos/{photo.uid}/picture.jpg"):
        problem(caller().get(f"{V1}/{address}"), 401, "not-signed-in")


def test_a_withdrawn_photo_is_gone_from_every_address(city: object) -> None:
    tree = build.tree()
    send(as_role("inspector"), tree)
    photo = Attachment.objects.get()
    client = as_role("forester")
    assert client.post(f"{V1}/photos/{photo.uid}/withdraw", {"why": "a face"}).status_code == 200
    problem(client.get(f"{V1}/photos/{photo.uid}/picture.jpg"), 404, "not-found")
    assert client.get(f"{V1}/trees/{tree.uid}/photos").json()["items"] == []
    problem(client.post(f"{V1}/photos/{photo.uid}/withdraw", {"why": "again"}), 409, "conflict")


def test_pages_of_photos_lose_none(city: object) -> None:
    tree, client = build.tree(), as_role("inspector")
    for n in range(5):
        send(client, tree, picture((60 + n, 40)))
    seen, url = [], f"{V1}/trees/{tree.uid}/photos?limit=2"
    while url:
        page = client.get(url).json()
        seen += [one["uid"] for one in page["items"]]
        url = page.get("next")
    assert len(seen) == len(set(seen)) == 5
