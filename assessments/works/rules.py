"""Rules of orders: the state of an item from its facts, of an order from its items, and what must be told."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from assessments.works import states
from assessments.works.records import ReportRecord, VerdictRecord
from inventory.problems import FieldProblem

# Clocks of devices differ: a little ahead of ours is not yet the future.
CLOCK_TOLERANCE = timedelta(minutes=10)
# A report may come late, but nobody reports the work of a decade ago: a slip of the year (the project's choice).
LONGEST_AGO = timedelta(days=3653)
MAX_ITEMS = 2000
_SETTLING = {"accepted": "verified", "not_done": "not_done"}


@dataclass(frozen=True)
class Reported:
    """What the state needs of a report."""

    outcome: str
    worked_at: datetime
    disputed: bool = False


@dataclass(frozen=True)
class Judged:
    """What the state needs of a verdict."""

    verdict: str
    at: datetime


def item_state(reports: Collection[Reported], verdicts: Collection[Judged], cancelled: bool) -> str:
    """The state of an item: a function of its facts, not of the order in which they arrived.

    The last verdict settles all work done up to its time. Of the work after it: a disputed report, a "not possible"
    at or after a "done", and any work after the item was settled are a variation, for a person to decide.

    >>> monday, tuesday = datetime(2026, 5, 4), datetime(2026, 5, 5)
    >>> item_state([Reported("done", tuesday), Reported("not_possible", monday)], [], False)
    'done'
    """
    last = max(verdicts, key=lambda v: (v.at, states.VERDICTS.index(v.verdict)), default=None)
    recent = [r for r in reports if last is None or r.worked_at > last.at]
    if any(report.disputed for report in recent):
        return "variation"
    if last is not None and last.verdict in _SETTLING:
        return "variation" if recent else _SETTLING[last.verdict]
    if cancelled:
        return "variation" if any(report.outcome == "done" for report in recent) else "cancelled"
    return _reported(recent) or ("returned" if last else "open")


def _reported(recent: Collection[Reported]) -> str:
    done = max((r.worked_at for r in recent if r.outcome == "done"), default=None)
    failed = max((r.worked_at for r in recent if r.outcome == "not_possible"), default=None)
    if done is None:
        return "not_possible" if failed else ""
    return "variation" if failed and failed >= done else "done"


def order_step(order_state: str, item_states: Iterable[str]) -> str | None:
    """The step that an order takes by itself: it closes with its last item, and reopens where one needs a person."""
    settled = all(state in states.SETTLED for state in item_states)
    if settled and order_state in states.ORDER_STEPS["close"][0]:
        return "close"
    if not settled and order_state in states.ORDER_STEPS["reopen"][0]:
        return "reopen"
    return None


def step_problem(order_state: str, step: str) -> str:
    """Why an order in this state cannot take a step; empty where it can."""
    allowed, _ = states.ORDER_STEPS[step]
    if order_state in allowed:
        return ""
    return f"the order is {order_state}; only one that is {' or '.join(sorted(allowed))} can take the step {step}"


def wish_problems(pointer: str, action: str, tree_state: str, due_on: date, today: date) -> list[FieldProblem]:
    """What is wrong with the wish for an action on a tree."""
    if action not in states.ACTIONS:
        return [FieldProblem(f"{pointer}/action", f"is not one of {', '.join(states.ACTIONS)}")]
    found = []
    wanted = states.tree_states(action)
    if tree_state not in wanted:
        said = " or ".join(sorted(wanted))
        found.append(FieldProblem(f"{pointer}/action", f"{action} needs a tree that is {said}, not {tree_state}"))
    if due_on < today:
        found.append(FieldProblem(f"{pointer}/due_on", f"{due_on} lies in the past"))
    return found


def report_problems(action: str, record: ReportRecord, now: datetime) -> list[FieldProblem]:
    """What is wrong with a report on an item of this action."""
    found = []
    if record.outcome not in states.OUTCOMES:
        found.append(FieldProblem("#/outcome", f"is not one of {', '.join(states.OUTCOMES)}"))
    if record.outcome == "not_possible" and not record.reason.strip():
        found.append(FieldProblem("#/reason", "say why it was not possible"))
    if record.worked_at > now + CLOCK_TOLERANCE:
        found.append(FieldProblem("#/worked_at", "lies in the future"))
    if record.worked_at < now - LONGEST_AGO:
        found.append(FieldProblem("#/worked_at", "lies more than ten years ago: is the year right?"))
    return found + _detail_problems(action, record)


def _detail_problems(action: str, record: ReportRecord) -> list[FieldProblem]:
    done = record.outcome == "done"
    told = {
        "stump_ground": ("remove", False, record.stump_ground or None),
        "support_kind": ("install_support", True, record.support_kind),
        "support_height_m": ("install_support", True, record.support_height_m),
        "species": ("plant", True, record.species),
    }
    found = []
    for name, (belongs_to, required, value) in told.items():
        if value is not None and not (done and action == belongs_to):
            found.append(FieldProblem(f"#/{name}", f"belongs to a {belongs_to} that is done"))
        if value is None and required and done and action == belongs_to:
            found.append(FieldProblem(f"#/{name}", f"is required when {belongs_to} is done"))
    return found


def verdict_problems(record: VerdictRecord, reports: Collection[Reported], now: datetime) -> list[FieldProblem]:
    """What is wrong with a verdict on an item with these reports."""
    found = []
    if record.verdict not in states.VERDICTS:
        found.append(FieldProblem("#/verdict", f"is not one of {', '.join(states.VERDICTS)}"))
    if record.verdict != "accepted" and not record.note.strip():
        found.append(FieldProblem("#/note", "say why"))
    if record.verdict == "accepted" and not any(report.outcome == "done" for report in reports):
        found.append(FieldProblem("#/verdict", "only work that was reported done can be accepted"))
    if record.verified_at and record.verified_at > now + CLOCK_TOLERANCE:
        found.append(FieldProblem("#/verified_at", "lies in the future"))
    return found


def verdict_time(record: VerdictRecord, reports: Collection[Reported], now: datetime) -> datetime:
    """When the verdict holds: as told; else now, and not before the reported work by a clock that runs ahead."""
    return record.verified_at or max([now, *(report.worked_at for report in reports)])
