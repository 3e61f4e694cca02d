"""What is sent of storms and of failures, as frozen dataclasses, and what may be wrong with it."""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from assessments.methods import risk
from assessments.methods.catalogue import PARTS
from assessments.models import Storm
from assessments.models.failure import STRUCK
from assessments.models.storm import LEAST_GUST_M_S, MOST_GUST_M_S
from inventory.models import Tree
from inventory.problems import FieldProblem

# The classes of risk from which on trees may be looked at after a storm.
ASKABLE: Final = ("moderate", "high")
LONGEST_STORM: Final = timedelta(days=14)
# A part that broke in the night is found and dated the next day.
FOUND_AFTER: Final = timedelta(days=1)


@dataclass(frozen=True)
class ChecksAsked:
    """Checks after a storm: of trees rated `least_risk` or worse, in some zones (codes; empty: those with a gust)."""

    due_on: date
    zones: tuple[str, ...] = ()
    least_risk: str = "moderate"


@dataclass(frozen=True)
class StormRecord:
    """One storm. Gusts: the largest of 3 seconds at 10 m in m/s, of the city and by zone (code, gust)."""

    uid: uuid.UUID
    name: str
    began_on: date
    ended_on: date
    gust_m_s: float | None = None
    gusts: tuple[tuple[str, float], ...] = ()
    gust_source: str = ""
    note: str = ""
    ask_checks: ChecksAsked | None = None


@dataclass(frozen=True)
class FailureRecord:
    """One failure of a part of a tree, on a day or between two. References are uids of what is recorded already."""

    uid: uuid.UUID
    part: str
    happened_from: date
    happened_to: date
    struck: str
    seen_by: str
    damage: str | None = None
    finding: uuid.UUID | None = None
    inspection: uuid.UUID | None = None
    storm: uuid.UUID | None = None
    note: str = ""


def storm_problems(record: StormRecord, today: date) -> Iterator[FieldProblem]:
    """What is wrong with a storm by itself."""
    if not record.name.strip():
        yield FieldProblem("#/name", "say by what name the storm goes")
    if record.ended_on < record.began_on:
        yield FieldProblem("#/ended_on", "lies before it began")
    elif record.ended_on - record.began_on > LONGEST_STORM:
        yield FieldProblem("#/ended_on", f"a storm of more than {LONGEST_STORM.days} days is several storms")
    if record.began_on > today:
        yield FieldProblem("#/began_on", "lies in the future")
    yield from _gust_problems(record)
    if record.ask_checks and record.ask_checks.least_risk not in ASKABLE:
        yield FieldProblem("#/ask_checks/least_risk", f"must be one of {', '.join(ASKABLE)}")
    if record.ask_checks and record.ask_checks.due_on < record.began_on:
        yield FieldProblem("#/ask_checks/due_on", "lies before the storm")


def _gust_problems(record: StormRecord) -> Iterator[FieldProblem]:
    named = [("#/gust_m_s", record.gust_m_s)]
    named += [(f"#/gusts/{place}/gust_m_s", gust) for place, (_, gust) in enumerate(record.gusts)]
    for pointer, gust in named:
        if gust is not None and not LEAST_GUST_M_S <= gust <= MOST_GUST_M_S:
            yield FieldProblem(pointer, f"must lie from {LEAST_GUST_M_S:g} to {MOST_GUST_M_S:g} m/s")
    codes = [code for code, _ in record.gusts]
    for place, code in enumerate(codes):
        if code in codes[:place]:
            yield FieldProblem(f"#/gusts/{place}/zone", "has a gust already")
    if (record.gust_m_s is not None or record.gusts) and not record.gust_source.strip():
        yield FieldProblem("#/gust_source", "say where the gusts are from")


def failure_problems(record: FailureRecord, tree: Tree, storm: Storm | None, today: date) -> Iterator[FieldProblem]:
    """What is wrong with a failure by itself, with its tree and its storm."""
    for name, words in (("part", tuple(PARTS)), ("struck", STRUCK), ("damage", (None, *risk.CONSEQUENCES))):
        if getattr(record, name) not in words:
            yield FieldProblem(f"#/{name}", f"must be one of {', '.join(word for word in words if word)}")
    if record.struck == "nothing" and record.damage is not None:
        yield FieldProblem("#/damage", "it struck nothing")
    if not record.seen_by.strip():
        yield FieldProblem("#/seen_by", "say who saw it, or how it is known")
    yield from _day_problems(record, tree, today)
    if storm and (storm.ended_on + FOUND_AFTER < record.happened_from or record.happened_to < storm.began_on):
        yield FieldProblem("#/storm", f"the storm was from {storm.began_on} to {storm.ended_on}, not then")


def _day_problems(record: FailureRecord, tree: Tree, today: date) -> Iterator[FieldProblem]:
    if record.happened_to < record.happened_from:
        yield FieldProblem("#/happened_to", "lies before happened_from")
    for name in ("happened_from", "happened_to"):
        if getattr(record, name) > today:
            yield FieldProblem(f"#/{name}", "lies in the future")
    if tree.planted_from and record.happened_to < tree.planted_from:
        yield FieldProblem("#/happened_to", f"lies before the tree was planted on {tree.planted_from.isoformat()}")
