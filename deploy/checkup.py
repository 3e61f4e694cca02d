"""Is the main job in order on this city? Looks at what is there, then rehearses one tree's way and takes it back."""

import json
import time
import urllib.request
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.contrib.gis.geos import LineString, Point
from django.db import connection, transaction
from django.utils import timezone

from assessments import calibrations, projects, queries, services
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.models import Decision, Dissection, Inspection, Option, Priority
from assessments.option_records import DecisionRecord
from assessments.records import FindingRecord, InspectionRecord, RatingRecord, TargetRecord
from assessments.report.document import services as reports
from assessments.works import actions
from assessments.works.models import OrderItem
from assessments.works.records import ItemWish, ReportRecord, VerdictRecord
from deploy.management.commands.person import add_person
from inventory import past
from inventory import services as inventory
from inventory.calendar import today
from inventory.history import Author
from inventory.models import Event, Site, Species, Tree
from inventory.models.tree import STANDING
from inventory.people.models import User
from workers.models import StuckEvent

# News older than this should have been drained.
LATE = timedelta(minutes=2)
PATIENCE_S = 40


class Failed(Exception):
    """A check found something out of order; the message says what."""


def require(true: bool, otherwise: str) -> None:
    """Raise Failed with the message unless true."""
    if not true:
        raise Failed(otherwise)


@dataclass(frozen=True)
class Check:
    """One check: its name and the function that tells what it saw, or raises Failed."""

    name: str
    look: Callable[[], str]


def served(base: str) -> Check:
    """The service answers at its address: health, the API's own description, the public tree list."""

    def look() -> str:
        for path in ("/health/ready", "/api/v1/openapi.json", "/api/v1/trees?limit=1", "/sign-in"):
            try:
                with urllib.request.urlopen(base + path, timeout=30) as reply:  # noqa: S310 (our own address)
                    require(reply.status == 200, f"{path} answers {reply.status}")
            except OSError as error:
                raise Failed(f"{path}: {error}") from error
        return "health, API, tree list and sign-in answer"

    return Check("The service answers", look)


def every_tree_has_its_priority() -> str:
    """Each standing tree has exactly one priority, and no other tree has one."""
    standing = Tree.objects.filter(state__in=STANDING)
    without = standing.filter(priority=None).count()
    require(not without, f"{without} standing trees have no priority: run `manage.py recompute`")
    beside = Priority.objects.exclude(tree__state__in=STANDING).count()
    require(not beside, f"{beside} priorities belong to trees that stand no more")
    return f"{standing.count():,} standing trees"


def news_is_drained() -> str:
    """No event waits for its position, and none was set aside."""
    late = Event.objects.filter(position=None, happened_at__lt=timezone.now() - LATE)
    end = time.monotonic() + PATIENCE_S
    while late.exists() and time.monotonic() < end:  # the worker may have been started just now
        time.sleep(1)
    require(not late.exists(), f"{late.count()} events wait: is the worker running?")
    stuck = StuckEvent.objects.count()
    require(not stuck, f"{stuck} events could not be acted on: see the table stuck_event")
    return f"{Event.objects.exclude(position=None).count():,} events in order"


def every_change_has_its_author() -> str:
    """Every row of the history of trees belongs to an act with a reason."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*), count(*) FILTER (WHERE coalesce(c.metadata->>'why', '') = '')"
            " FROM tree_past p LEFT JOIN pghistory_context c ON c.id = p.pgh_context_id"
        )
        rows, without = cursor.fetchone()
    require(not without, f"{without} changes of trees have no reason")
    return f"{rows:,} changes, each with who and why"


def due_list_is_in_order() -> str:
    """A lower risk class never stands above a higher one."""
    ranks = ["extreme", "high", "moderate", "low", ""]
    items = queries.due_list(today(), limit=1000).items
    places = [ranks.index(item.risk) for item in items]
    require(places == sorted(places), "a lower risk class stands above a higher one")
    require(all(item.reasons for item in items), "a due date has no reason")
    return f"{len(items)} looked at"


@contextmanager
def taken_back() -> Iterator[None]:
    """Run in a transaction that is always rolled back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def rehearsal() -> str:
    """One tree from inspection to stump, through the real services, all of it taken back."""
    beside = Tree.objects.filter(state__in=STANDING).order_by("pk").first()
    if beside is None:
        return "left out: there is no tree yet"
    with taken_back():
        people = _people()
        tree = _tree(people["forester"], beside.location)
        _inspect(people["inspector"], tree)
        item = _order(people, tree)
        _report(people, item, tree)
    require(not User.objects.filter(email__endswith="@rehearsal.invalid").exists(), "the rehearsal left people behind")
    return "inspected, rated high, ordered, felled, recorded; taken back"


def _people() -> dict[str, User]:
    mark = uuid.uuid4().hex[:8]
    return {
        role: add_person(f"{role}-{mark}@rehearsal.invalid", role, role, f"Rehearsal {role} {mark}", mark * 3, today())
        for role in ("forester", "inspector", "contractor")
    }


def _tree(forester: User, beside: Point) -> Tree:
    place = Point(beside.x + 0.0001, beside.y, srid=4326)
    size = inventory.Size(measured_on=today(), method="tape", dbh_cm=60.0, height_m=15.0)
    fields = {"species_id": Species.objects.order_by("pk").values_list("pk", flat=True)[0]}
    return inventory.add_tree(Author(forester.pk), location=place, tree_fields=fields, size=size)


def _inspect(inspector: User, tree: Tree) -> None:
    record = InspectionRecord(
        uid=uuid.uuid4(),
        inspected_at=timezone.now(),
        level="basic",
        frame_years=3,
        findings=(FindingRecord(kind="cavity", part="stem", measures={"opening_percent": 25.0, "shell_cm": 4.0}),),
        targets=(TargetRecord(kind="people", label="pavement", occupancy="constant", exposure="full"),),
        ratings=(
            RatingRecord(
                part="stem",
                target=0,
                finding=0,
                failure="probable",
                impact="high",
                consequences="severe",
                why_different="rehearsal",
            ),
        ),
    )
    services.record_inspection(Author(inspector.pk), tree, record, today())
    shown = queries.priority_of(tree, today())
    require(shown.risk == "high", f"a probable, high and severe rating came out as {shown.risk}")
    require(shown.row.act_by is not None, "a high risk has no date to act by")


def _order(people: dict[str, User], tree: Tree) -> OrderItem:
    forester, crew = Author(people["forester"].pk), people["contractor"]
    now = timezone.now()
    contractor = crew.memberships.get().organisation
    wishes = [ItemWish(tree=tree.uid, action="remove")]
    order = actions.draft(forester, wishes, due_on=today(), today=today(), contractor=contractor)
    order = actions.issue(forester, order, version=order.version, now=now)
    actions.accept(Author(crew.pk), order, version=order.version, now=now)
    item = order.items.get()
    require(bool(item.reason) and bool(item.cautions), "the order says neither why nor what to beware of")
    return item


def _report(people: dict[str, User], item: OrderItem, tree: Tree) -> None:
    now = timezone.now()
    report = ReportRecord(uid=uuid.uuid4(), outcome="done", worked_at=now)
    actions.report(Author(people["contractor"].pk), item, report, now=now)
    verdict = VerdictRecord(uid=uuid.uuid4(), verdict="accepted")
    actions.verify(Author(people["inspector"].pk), item, verdict, now=now)
    tree.refresh_from_db()
    require(tree.state == "stump", f"a felled tree is {tree.state}, not a stump")
    require(Site.objects.filter(trees=tree, state="vacant").exists(), "the site of a felled tree is not vacant")
    require(not Priority.objects.filter(tree=tree).exists(), "a felled tree has a priority")
    who = {act.who for act in past.of_tree(tree, past.TREE_SOURCES)}
    require({"forester", "contractor"} <= who, f"the history names only {sorted(who)}")


# Beside the stump of the rehearsed tree: 60 cm over bark, hollow in the middle.
_CUTS: Final = tuple(
    CutRecord({"height_m": height, "diameter_cm": 60.0, "bark_cm": 1.0, "cavities": [{"share_percent": 40.0}]})
    for height in (0.3, 0.45, 0.6)
)


def judgement_rehearsal() -> str:
    """One tree from inspection by options, report and decision to its opened stem, all of it taken back."""
    beside = Tree.objects.filter(state__in=STANDING).order_by("pk").first()
    if beside is None:
        return "left out: there is no tree yet"
    with taken_back():
        people = _people()
        tree = _tree(people["forester"], beside.location)
        _inspect(people["inspector"], tree)
        inspection = Inspection.objects.get(tree=tree)
        options = _options(people["inspector"], inspection)
        paper = reports.paper_of(reports.draft(inspection.uid), units="si", paper="a4")
        require(paper.startswith(b"%PDF-"), "the draft of a report is no PDF")
        _decide(people["forester"], tree, options)
        _report(people, _order(people, tree), tree)
        _open(people["inspector"], tree)
    return f"{len(options)} options, a report of {len(paper) // 1024} KiB, decided, felled, cut open; taken back"


def _options(inspector: User, inspection: Inspection) -> dict[str, Option]:
    found = {one.kind: one for one in services.propose_options(Author(inspector.pk), inspection, today())}
    missing = {"retain_and_monitor", "remove_and_replant"} - found.keys()
    require(not missing, f"not proposed for a hollow stem: {', '.join(sorted(missing))}")
    require(queries.option_comparison(inspection) is not None, "the options were not compared")
    return found


def _decide(forester: User, tree: Tree, options: dict[str, Option]) -> None:
    record = DecisionRecord(uuid.uuid4(), today(), "rehearsal", "rehearsal", "rehearsal", act_by=today())
    chosen = options["remove_and_replant"]
    made, new = services.take_decision(Author(forester.pk), chosen, record, today())
    again, twice = services.take_decision(Author(forester.pk), chosen, record, today())
    require((new, twice, made.pk) == (True, False, again.pk), "a decision that comes twice is made twice")
    require(not OrderItem.objects.filter(tree=tree).exists(), "a decision made work")


def _open(inspector: User, tree: Tree) -> None:
    record = DissectionRecord(uuid.uuid4(), today(), today(), "predicted_weakness", cuts=_CUTS)
    opened, _ = services.record_dissection(Author(inspector.pk), tree, record, today())
    again, twice = services.record_dissection(Author(inspector.pk), tree, record, today())
    require((twice, opened.pk) == (False, again.pk), "a dissection that comes twice is stored twice")
    methods = set(opened.results.values_list("method", flat=True))
    require(len(methods) == 2, f"an opened stem is not held against its judgement: only {sorted(methods)}")


def opened_stems_are_held_against_their_judgement() -> str:
    """Each dissection with cuts was computed; a calibration, where there is one, rests on dissections that exist."""
    bare = Dissection.objects.exclude(cuts=None).filter(results=None).count()
    require(not bare, f"{bare} dissections were never computed: run the nightly pass")
    newest = queries.calibrations().first()
    if newest is None:
        return f"{Dissection.objects.count()} opened stems, no calibration yet"
    known = Dissection.objects.filter(uid__in=newest.dissections).count()
    require(known == len(newest.dissections), "the calibration rests on dissections that are not there")
    require(calibrations.in_force() is not None, "the newest calibration cannot be read: fit it again")
    return f"{Dissection.objects.count()} opened stems; calibration {newest.version} rests on {newest.trees} trees"


def kept_defects_end() -> str:
    """Every decision in force that accepts a risk says until when, and that day is an open check or was due."""
    held = Decision.objects.filter(superseded_by=None, tree__state__in=STANDING).exclude(accepted_risk="")
    endless = held.filter(ends_on=None).count()
    require(not endless, f"{endless} accepted risks have no end")
    unasked = held.exclude(asked_checks__kind="decision_end").count()
    require(not unasked, f"the end of {unasked} accepted risks is on no list")
    return f"{held.count()} defects kept knowingly, {held.filter(ends_on__lt=today()).count()} past their day"


def trees_near_a_trench() -> str:
    """A trench beside a tree finds that tree."""
    tree = Tree.objects.filter(state__in=STANDING).order_by("pk").first()
    if tree is None:
        return "left out: there is no tree yet"
    place = tree.location
    trench = LineString((place.x - 0.0002, place.y), (place.x + 0.0002, place.y), srid=4326)
    near = projects.trees_near(trench, 10)
    found = {one["tree"] for one in json.loads(near.trees)}
    require(str(tree.uid) in found, "a trench through a tree's stem does not find the tree")
    return f"{near.total} trees within 10 m of a trench"


def checks(base: str) -> list[Check]:
    """Every check, in the order of the main job."""
    return [
        served(base),
        Check("Every tree has its priority", every_tree_has_its_priority),
        Check("The news is drained", news_is_drained),
        Check("Every change has its author", every_change_has_its_author),
        Check("The due list is in order", due_list_is_in_order),
        Check("One tree's way, rehearsed", rehearsal),
        Check("From judgement to opened stem, rehearsed", judgement_rehearsal),
        Check("Opened stems and calibration", opened_stems_are_held_against_their_judgement),
        Check("Kept defects have an end", kept_defects_end),
        Check("Trees near a trench", trees_near_a_trench),
    ]
