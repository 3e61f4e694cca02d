"""What happened in three invented years, day after day: visits as they were recorded, orders, work, emergencies."""

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import count
from typing import Final

from deploy.demo import days, orders, rounds, story
from deploy.demo.dice import dice
from deploy.demo.looks import Case, Look, Visit, look
from deploy.demo.orders import ItemPlan, OrderPlan
from deploy.demo.stock import TreePlan
from deploy.demo.story import Story
from deploy.demo.troubles import Trouble, of_tree

_FOLLOW_UP_DAYS: Final = 25
_SEEN_LATELY_DAYS: Final = 420
_HANGERS: Final = 2
_WANTS_WORK: Final = ("moderate", "high")


@dataclass
class Chapter:
    """The time that begins with an order (of an emergency, after the look that called for it), and the looks of it."""

    order: OrderPlan | None
    looks: list[Look] = field(default_factory=list)


@dataclass
class Chronicle:
    """The years as they unfold: which trees are gone, which are ordered, how each was seen last."""

    reference: date
    cases: dict[str, Case]
    stories: dict[str, Story]
    chapters: list[Chapter] = field(default_factory=lambda: [Chapter(None)])
    felled: dict[str, date] = field(default_factory=dict)
    ordered: set[tuple[str, str]] = field(default_factory=set)
    last: dict[str, Look] = field(default_factory=dict)

    def years(self, day: date) -> float:
        """Years since the take-over."""
        return round((day - days.taken_over(self.reference)).days / 365.25, 3)


def unfold(trees: list[tuple[TreePlan, Story | None]], reference: date) -> Chronicle:
    """Let the years pass over the trees."""
    cases = {tree.tag: _case(tree, told) for tree, told in trees}
    chronicle = Chronicle(reference, cases, {told.tag: told for _, told in trees if told})
    serial = count()
    agenda: list[tuple[date, int, Visit | None]] = []
    for planned in _visits(chronicle):
        heapq.heappush(agenda, (planned.on, next(serial), planned))
    for day in orders.order_days(reference):
        heapq.heappush(agenda, (day, -1, None))
    while agenda:
        day, _, visit = heapq.heappop(agenda)
        later = _make(chronicle, visit) if visit else _order(chronicle, day)
        for follow_up in later:
            heapq.heappush(agenda, (follow_up.on, next(serial), follow_up))
    return chronicle


def _case(tree: TreePlan, told: Story | None) -> Case:
    case = Case(tree, [])
    if told:
        return Case(tree, list(told.troubles), targets=told.targets, section=told.section, stem_load=told.stem_load)
    case.troubles = of_tree(tree, case.size)
    return case


def _visits(chronicle: Chronicle) -> Iterator[Visit]:
    plain = [case for tag, case in chronicle.cases.items() if tag not in chronicle.stories]
    found = rounds.visits(plain, chronicle.reference)
    yield from found
    for told in chronicle.stories.values():
        yield from story.visits(told, chronicle.reference)
    for storm in rounds.storm_days(chronicle.reference):
        yield from _hangers(chronicle, storm)


def _hangers(chronicle: Chronicle, storm: date) -> Iterator[Visit]:
    """Great trees of which a storm left a limb hanging over the street."""
    fit = [
        case for tag, case in chronicle.cases.items()
        if tag not in chronicle.stories and case.plan.spot.kind == "avenue" and case.size.dbh_cm > 55
        and case.plan.state == "alive"
    ]  # fmt: skip
    for case in dice("hangers", storm.month).sample(fit, _HANGERS):
        day = storm + timedelta(days=1)
        case.troubles.append(_hanger(case, chronicle.years(day)))
        yield Visit(case.plan.tag, day, rounds.inspector_of(case.plan.spot.zone), "basic", "storm")


def _hanger(case: Case, began: float) -> Trouble:
    throw = dice("hanging limb", case.plan.tag)
    thick = float(throw.randrange(11, 18))
    return Trouble(
        "broken_branch", "limb", thick, 8.0, float(throw.randrange(0, 360, 5)),
        {"state": "hanging", "diameter_cm": thick}, began=began, note="torn by the storm",
    )  # fmt: skip


def _make(chronicle: Chronicle, visit: Visit) -> Iterator[Visit]:
    """Make a visit unless the tree is gone; an emergency has its order at once."""
    gone = chronicle.felled.get(visit.tag)
    if gone and gone <= visit.on:
        return
    case = chronicle.cases[visit.tag]
    seen = look(case, visit, chronicle.years(visit.on))
    chronicle.last[visit.tag] = seen
    if not any(rating.failure == "imminent" for rating in seen.record.ratings):
        chronicle.chapters[-1].looks.append(seen)
        return
    told = chronicle.stories.get(visit.tag)
    if told and told.actions:
        closed = replace(told.actions, closed_at=seen.record.inspected_at + timedelta(minutes=25))
        seen = replace(seen, record=replace(seen.record, actions=closed, note=told.note))
    order = _emergency_order(seen, chronicle.reference)
    chronicle.chapters.append(Chapter(order))
    yield from _done(chronicle, order.items[0])


def _emergency_order(seen: Look, reference: date) -> OrderPlan:
    item = ItemPlan(seen.tag, "make_safe")
    if (reference - seen.on).days > 2:
        item.worked_on, item.verdict = seen.on, "accepted"
    step = "accepted" if item.worked_on else "issued"
    return OrderPlan(f"emergency {seen.tag}", orders.CONTRACTORS[0], seen.on, seen.on, step, "", [item], cause=seen)


def _order(chronicle: Chronicle, day: date) -> Iterator[Visit]:
    """Order what the last looks ask for; a new chapter begins."""
    wanted = [
        (chronicle.cases[tag], seen) for tag, seen in chronicle.last.items() if _wants_work(chronicle, tag, seen, day)
    ]  # fmt: skip
    number = sum(chapter.order is not None and chapter.order.cause is None for chapter in chronicle.chapters) + 1
    order = orders.place_order(day, number, wanted, chronicle.reference) if wanted else None
    chronicle.chapters.append(Chapter(order))
    for item in order.items if order else ():
        item.stump_ground = item.stump_ground and item.tag != story.ASH
    for item in order.items if order else ():
        if order and order.step != "cancelled":
            chronicle.ordered.add((item.tag, item.action))
        yield from _done(chronicle, item)


def _wants_work(chronicle: Chronicle, tag: str, seen: Look, day: date) -> bool:
    case = chronicle.cases[tag]
    gone = chronicle.felled.get(tag) or case.plan.removed_on
    lately = (day - seen.on).days < _SEEN_LATELY_DAYS
    if gone or not lately or tag in (story.LIME, story.OAK, story.KERB_LIME):
        return False
    if seen.worst not in _WANTS_WORK and case.plan.state != "dead":
        return False
    return (tag, orders.action_for(case, seen)) not in chronicle.ordered


def _done(chronicle: Chronicle, item: ItemPlan) -> Iterator[Visit]:
    """Let the work take effect: the tree is gone, or its trouble is, and someone looks at it afterwards."""
    if item.worked_on is None or item.outcome != "done":
        return
    if item.action == "remove":
        chronicle.felled[item.tag] = item.worked_on
        return
    case = chronicle.cases[item.tag]
    for place, trouble in enumerate(case.troubles):
        if trouble.kind in orders.ENDS.get(item.action, ()):
            case.ended[place] = chronicle.years(item.worked_on)
    follow_up = days.working(item.worked_on + timedelta(days=6 if item.action == "make_safe" else _FOLLOW_UP_DAYS))
    if follow_up < chronicle.reference:
        inspector = rounds.inspector_of(case.plan.spot.zone)
        level = "advanced" if item.action == "diagnose" else "basic"
        yield Visit(item.tag, follow_up, inspector, level, "follow_up")
