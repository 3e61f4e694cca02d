"""A small town for the pages, and clients that are signed in."""

import uuid
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.test import Client
from django.utils import timezone

from assessments.records import SectionRecord
from assessments.restate import restate
from assessments.works import actions
from assessments.works.models import WorkOrder
from assessments.works.records import ItemWish, ReportRecord
from inventory import services
from inventory.history import SERVICE, Author
from inventory.intake import files, run
from inventory.intake.progress import silent
from inventory.models import Tree
from inventory.people.models import Organisation, User
from tests.support import build
from tests.support import inspections as inspecting
from tests.support import sections as measuring

CSV = (
    "id,species,dbh,lat,lon\n"
    "A1,Tilia cordata,35,45.0100,-29.4900\n"
    "A2,Tilia cordata,0,45.0101,-29.4901\n"
    "A3,Unheard of,20,45.0102,-29.4902\n"
    "A4,Tilia cordata,20,,\n"
    "A5,Tilia cordata,20,45.0104,=2+3\n"
)
MAPPING = {
    "file": {"format": "csv", "encoding": "utf-8", "delimiter": ",", "header": True},
    "column": [
        {"heading": "id", "role": "key"},
        {"heading": "species", "role": "species"},
        {"heading": "dbh", "role": "dbh", "unit": "cm"},
        {"heading": "lat", "role": "latitude"},
        {"heading": "lon", "role": "longitude"},
    ],
}


@dataclass
class Town:
    """What stands in the town: its trees by tag, its people by role, a running order, a load."""

    trees: dict[str, Tree]
    people: dict[str, User]
    firm: Organisation
    order: WorkOrder
    draft: WorkOrder
    load: str


def now() -> datetime:
    """The present, as the services take it."""
    return timezone.now()


def today() -> date:
    """The municipal date (UTC in the town)."""
    return now().date()


def town() -> Town:
    """A city with a zone, six trees of which one is felled, inspections of three years, orders and a load."""
    build.municipality()
    build.zone("N")
    firm = build.organisation("contractor", "Tallow & Reed")
    people = {role: build.user(role) for role in ("forester", "inspector", "public_works", "auditor")}
    people["contractor"] = build.user("contractor", firm)
    trees = {f"H{n}": build.tree(n * 9.0, 0.0, tag=f"H{n}", dbh_cm=30.0 + n if n != 4 else None) for n in range(1, 7)}
    restate([tree.pk for tree in trees.values()])
    _inspected(trees, Author(people["inspector"].pk, "phone"))
    services.remove_tree(SERVICE, trees["H6"], on=today(), reason="storm", stump_ground=False)
    restate([trees["H6"].pk])
    order, draft = _orders(trees, people, firm)
    return Town(trees, people, firm, order, draft, load())


def _inspected(trees: dict[str, Tree], who: Author) -> None:
    first = inspecting.inspected(
        trees["H1"],
        author=who,
        on=today() - timedelta(days=700),
        findings=(inspecting.finding(height_m=1.2, azimuth_deg=310.0),),
    )
    section = SectionRecord(measuring.hollow(31.0), finding=0)
    again = inspecting.finding(height_m=1.3, azimuth_deg=312.0, continues=first.findings.get().uid)
    inspecting.inspected(
        trees["H1"],
        inspecting.rated(
            "high",
            on=today() - timedelta(days=300),
            findings=(again,),
            sections=(section,),
            note="Bus stop under the crown.",
        ),
        author=who,
    )
    inspecting.inspected(trees["H2"], inspecting.rated("moderate", on=today() - timedelta(days=900)), author=who)
    inspecting.inspected(
        trees["H3"], inspecting.rated("extreme", on=today() - timedelta(days=1), trigger="emergency"), author=who
    )


def _orders(trees: dict[str, Tree], people: dict[str, User], firm: Organisation) -> tuple[WorkOrder, WorkOrder]:
    desk, crew = Author(people["forester"].pk, "desk"), Author(people["contractor"].pk, "crew")
    due_on = today() + timedelta(days=30)
    wishes = [ItemWish(trees["H1"].uid, "remove_dead_wood"), ItemWish(trees["H2"].uid, "remove")]
    order = actions.draft(desk, wishes, due_on=due_on, today=today(), contractor=firm)
    order = actions.issue(desk, order, version=order.version, now=now())
    order = actions.accept(crew, order, version=order.version, now=now())
    item = order.items.get(action="remove_dead_wood")
    report = ReportRecord(uid=uuid.uuid4(), outcome="done", worked_at=now())
    actions.report(crew, item, report, now=now())
    draft = actions.draft(desk, [ItemWish(trees["H5"].uid, "clean_crown")], due_on=due_on, today=today())
    return order, draft


def load() -> str:
    """Load CSV; return the uid of the load."""
    stored = files.store([CSV.encode()])
    params = {"sha256": stored.sha256, "name": "trees.csv", "mapping": MAPPING}
    return str(run.load(SERVICE, params, silent)["load"])


def keep_files_in(folder: Path) -> dict[str, Any]:
    """Storage settings of the suite with uploads as files in a folder."""
    default = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": str(folder)}}
    return {**settings.STORAGES, "default": default}


def visitor(person: User | None = None) -> Client:
    """A client: of the public, or signed in as a person; errors of the server are raised."""
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


def text(response: Any) -> str:
    """The page as text."""
    return str(response.content.decode())


def streamed(response: Any) -> bytes:
    """The whole of an answer that is sent in pieces."""
    return b"".join(response.streaming_content)
