"""No query a row: each list makes as many queries for many rows as for few, and no more than it did."""

import uuid
from typing import Any, Final

import pytest
from rest_framework.test import APIClient

from inventory import events
from inventory.attachments import services as photos
from inventory.attachments.services import Photo
from inventory.history import SERVICE
from inventory.models import SpeciesName, Tree
from tests.support import build
from tests.support.http import V1, as_role, caller
from tests.support.query_counts import check, counted
from tests.support.reports import picture

pytestmark = pytest.mark.django_db
# Address below /api/v1/ with {tree} for a tree's uid, and who asks (None: the public).
LISTS: Final = [
    ("species", None),
    ("species?q=tilia", None),
    ("zones", None),
    ("sites", "forester"),
    ("trees", None),
    ("trees", "forester"),
    ("trees", "contractor"),
    ("trees?risk=none&zone=Z0&q=quay&units=us", "forester"),
    ("trees/{tree}/measurements", "forester"),
    ("trees/{tree}/supports", "forester"),
    ("trees/{tree}/photos", "inspector"),
    ("trees/{tree}/history", "auditor"),
    ("events", "auditor"),
    ("tokens", "forester"),
]


def grow(number: int, tree: Tree, inspector: APIClient) -> None:
    """One more of everything that the lists show."""
    species = build.species(f"Tilia species{number}")
    SpeciesName.objects.create(species=species, name=f"Linde {number}", language="de", kind="common")
    build.zone(f"Z{number}", half_m=2000 + number)
    build.tree(number, species_id=species.pk)
    body = {"uid": str(uuid.uuid4()), "measured_on": "2026-05-04", "method": "tape", "dbh_cm": 40 + number}
    inspector.post(f"{V1}/trees/{tree.uid}/measurements", body)
    support = {"uid": str(uuid.uuid4()), "kind": "cable", "height_m": 5, "installed_on": "2026-05-04"}
    inspector.post(f"{V1}/trees/{tree.uid}/supports", support)
    photos.add(SERVICE, tree, Photo(picture((40 + number, 30))))
    events.stamp()


@pytest.mark.parametrize(("address", "role"), LISTS)
def test_a_list_makes_no_query_a_row(city: object, address: str, role: str | None) -> None:
    tree, client, inspector = build.tree(), as_role(role), as_role("inspector")
    url = f"{V1}/{address.format(tree=tree.uid)}"

    def ask() -> Any:
        answer = client.get(url)
        assert answer.status_code == 200, answer.content
        return answer

    grow(0, tree, inspector)
    ask()  # what is cached after the first request is cached for both
    few = counted(ask)
    for number in range(1, 6):
        grow(number, tree, inspector)
    assert counted(ask) == few
    check(f"GET {address} {role or 'public'}", few)


def test_one_tree_costs_a_fixed_number_of_queries(city: object) -> None:
    tree = build.tree()
    for role in (None, "forester", "contractor"):
        client = caller() if role is None else as_role(role)
        count = counted(lambda client=client: client.get(f"{V1}/trees/{tree.uid}"))
        check(f"GET trees/{{tree}} {role or 'public'}", count)
