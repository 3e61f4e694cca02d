"""Work orders of the invented years: which trees, what is to be done, and how far each order has come."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from assessments.methods import risk
from assessments.records import FindingRecord, RatingRecord, part_uid
from deploy.demo import days
from deploy.demo.dice import dice
from deploy.demo.looks import Case, Look

EVERY_DAYS: Final = 48
FIRST_AFTER_DAYS: Final = 190
MOST_ITEMS: Final = 5
CONTRACTORS: Final = ("larkrow", "stonewell")
# Actions that end kinds of trouble; a felling ends the tree.
ENDS: Final = {"remove_dead_wood": ("dead_wood",), "remove_part": ("broken_branch",), "make_safe": ("broken_branch",)}


@dataclass
class ItemPlan:
    """One action on one tree, what came of it, and what was decided of it. None: not yet."""

    tag: str
    action: str
    worked_on: date | None = None
    outcome: str = "done"
    verdict: str | None = None
    stump_ground: bool = False
    species: str | None = None
    finding: uuid.UUID | None = None


@dataclass
class OrderPlan:
    """One order; `step` is how far it came: draft, issued, accepted, cancelled. `cause`: the look that asked for it."""

    name: str
    contractor: str
    placed: date
    due_on: date
    step: str
    instructions: str
    items: list[ItemPlan] = field(default_factory=list)
    cause: Look | None = None

    @property
    def accepted_on(self) -> date:
        """The day on which the contractor took it on."""
        return self.placed + timedelta(days=0 if self.cause else 3)


def order_days(reference: date) -> list[date]:
    """The days on which work is ordered, up to a few days before the reference date."""
    start = days.taken_over(reference) + timedelta(days=FIRST_AFTER_DAYS)
    count = (reference - start).days // EVERY_DAYS
    return [reference - timedelta(days=8 + EVERY_DAYS * back) for back in reversed(range(count + 1))]


def place_order(day: date, number: int, wanted: Sequence[tuple[Case, Look]], reference: date) -> OrderPlan:
    """Order work on the trees that need it most; how far it came follows from how long ago that was."""
    worst_first = sorted(wanted, key=lambda one: (-_risk(one[1]), one[1].on, one[1].tag))[:MOST_ITEMS]
    order = OrderPlan(
        name=f"order {number}",
        contractor=CONTRACTORS[number % 2],
        placed=day,
        due_on=day + timedelta(days=60),
        step=_step((reference - day).days, number),
        instructions="Work in the street needs a traffic plan; tell the ward office two days before.",
    )
    order.items = [
        ItemPlan(case.plan.tag, action_for(case, look), finding=_worst_finding(look)) for case, look in worst_first
    ]
    for item in order.items:
        _fate(order, item, reference)
    return order


def _risk(look: Look) -> int:
    return risk.code(risk.RISK, look.worst)


def _step(age_days: int, number: int) -> str:
    if number == 5:
        return "cancelled"
    return "draft" if age_days < 12 else "accepted"


def _fate(order: OrderPlan, item: ItemPlan, reference: date) -> None:
    """When an item was worked on, with what outcome, and what was decided of it."""
    if order.step != "accepted":
        return
    throw = dice("fate", order.name, item.tag)
    if throw.random() < 0.07:
        return  # forgotten: overdue by now
    worked = days.working(order.accepted_on + timedelta(days=throw.randrange(6, 55)))
    if worked >= reference - timedelta(days=2):
        return
    item.worked_on = worked
    if throw.random() < 0.05:
        item.outcome = "not_possible"
    item.stump_ground = item.action == "remove" and throw.random() < 0.6
    if (reference - worked).days > 21:
        item.verdict = "accepted" if item.outcome == "done" else "not_done"
        lately = (reference - order.placed).days < 200
        if lately and item.outcome == "done" and item.action != "remove" and throw.random() < 0.15:
            item.verdict = "returned"


def _grave(look: Look) -> list[FindingRecord]:
    """The findings whose failure was judged probable or worse."""
    places = {r.finding for r in look.record.ratings if r.failure in ("probable", "imminent")}
    return [finding for place, finding in enumerate(look.record.findings) if place in places]


def _worst_finding(look: Look) -> uuid.UUID | None:
    """The key of the finding with the worst risk."""
    rated = [r for r in look.record.ratings if r.finding is not None]
    worst = max(rated, key=lambda r: risk.RATING_CUBE[_codes(r)], default=None)
    return None if worst is None else part_uid(look.record, "finding", worst.finding or 0, None)


def _codes(rating: RatingRecord) -> tuple[int, int, int]:
    return (
        risk.code(risk.FAILURE, rating.failure),
        risk.code(risk.IMPACT, rating.impact),
        risk.code(risk.CONSEQUENCES, rating.consequences),
    )


def action_for(case: Case, look: Look) -> str:
    """What is done about what was found: the least that takes the risk away."""
    if case.plan.state == "dead":
        return "remove"
    grave = {finding.kind: finding for finding in _grave(look)}
    if "root_loss" in grave and grave["root_loss"].measures["cause"] == "decay":
        return "remove"
    if "root_plate_lift" in grave or ("lean" in grave and grave["lean"].measures["type"] == "recent"):
        return "remove"
    if "decay" in grave and grave["decay"].part == "root_collar":
        return "remove"
    if "broken_branch" in grave:
        return "remove_part"
    if "dead_wood" in grave:
        return "remove" if float(grave["dead_wood"].measures.get("crown_percent", 0)) > 45 else "remove_dead_wood"
    if grave.keys() & {"included_bark_union", "codominant_stems", "previous_split"}:
        return "install_support"
    return "reduce_crown" if grave.keys() & {"cavity", "crack"} else "diagnose"


def stumps_to_grind(tags: Sequence[str], reference: date) -> OrderPlan:
    """An order issued lately that its contractor has not answered yet."""
    placed = days.working(reference - timedelta(days=16))
    items = [ItemPlan(tag, "grind_stump") for tag in tags]
    return OrderPlan("stumps", CONTRACTORS[1], placed, reference + timedelta(days=40), "issued", _UTILITIES, items)


def winter_planting(tags: Sequence[str], species: Sequence[str], reference: date) -> OrderPlan:
    """An order half of which is planted, and waits for someone to look."""
    placed = days.working(reference - timedelta(days=40))
    order = OrderPlan("planting", CONTRACTORS[0], placed, reference + timedelta(days=60), "accepted", _UTILITIES)
    for place, (tag, name) in enumerate(zip(tags, species, strict=True)):
        worked = days.working(placed + timedelta(days=20 + place)) if place < len(tags) // 2 else None
        order.items.append(ItemPlan(tag, "plant", worked, species=name))
    return order


_UTILITIES: Final = "Ask for the plans of buried cables and pipes before you dig."
