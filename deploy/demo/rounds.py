"""Three years of looking: the yearly rounds by zone, looks after two storms, and residents' requests."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Final

from deploy.demo import days
from deploy.demo.dice import dice
from deploy.demo.looks import Case, Visit

# Zone -> first day of its round (month, day) and the level of each of the three rounds, the oldest first.
# Southfold is the newest district: its first round was begun last year and is not finished.
_ROUNDS: Final[Mapping[str, tuple[tuple[int, int], tuple[str, str, str]]]] = {
    "OT": ((4, 14), ("basic", "limited_visual", "basic")),
    "WF": ((5, 5), ("basic", "limited_visual", "basic")),
    "FM": ((5, 19), ("limited_visual", "basic", "limited_visual")),
    "CH": ((6, 2), ("basic", "", "basic")),
    "SB": ((6, 23), ("", "basic", "limited_visual")),
    "LH": ((7, 14), ("basic", "", "")),
    "NM": ((8, 11), ("", "basic", "")),
    "EQ": ((8, 25), ("limited_visual", "", "basic")),
    "MM": ((9, 8), ("limited_visual", "", "")),
    "SF": ((9, 22), ("", "", "basic")),
}
_UNFINISHED: Final = "SF"
_FIRST_INSPECTOR: Final = ("OT", "WF", "FM", "LH", "EQ")
_A_DAY: Final = 55
_MISSED: Final = 0.05
# Month, day and years back; the rounds count from the newest anniversary, too.
_STORMS: Final = ((11, 16, 1), (2, 8, 0))
_AFTER_A_STORM: Final = 0.02
_REQUESTS: Final = 0.006


def inspector_of(zone: str) -> str:
    """Which of the two inspectors looks after a zone."""
    return "inspector" if zone in _FIRST_INSPECTOR else "second_inspector"


def visits(cases: list[Case], reference: date) -> list[Visit]:
    """All routine, storm and requested visits, in order of time."""
    found = [*_rounds(cases, reference), *_storms(cases, reference), *_requests(cases, reference)]
    return sorted(found, key=lambda visit: (visit.on, visit.tag))


def stands(case: Case, day: date) -> bool:
    """Tell whether a tree was there on a day, planted well before it."""
    plan = case.plan
    planted = plan.planted_to is None or plan.planted_to < day - timedelta(days=30)
    return planted and (plan.removed_on is None or plan.removed_on > day)


def _rounds(cases: list[Case], reference: date) -> Iterator[Visit]:
    for code, (start, levels) in _ROUNDS.items():
        trees = [case for case in cases if case.plan.spot.zone == code]
        if code == _UNFINISHED:
            trees = trees[: len(trees) // 2]
        for number, level in enumerate(levels):
            if level:
                yield from _round(trees, days.last(reference, *start, back=2 - number), level, reference)


def _round(trees: list[Case], first: date, level: str, reference: date) -> Iterator[Visit]:
    """One round through a zone: so many trees a day, five days a week."""
    for place, case in enumerate(trees):
        week, day_of_week = divmod(place // _A_DAY, 5)
        day = first - timedelta(days=first.weekday()) + timedelta(days=7 * week + day_of_week)
        missed = dice("missed", case.plan.tag, level, first.month).random() < _MISSED
        if not missed and day < reference and stands(case, day):
            yield Visit(case.plan.tag, day, inspector_of(case.plan.spot.zone), level, "routine")


def _storms(cases: list[Case], reference: date) -> Iterator[Visit]:
    """The days after each storm: some trees are looked at in passing."""
    for month, day_of_month, back in _STORMS:
        storm = days.last(reference - timedelta(days=8), month, day_of_month, back=back)
        for case in cases:
            throw = dice("storm", month, case.plan.tag)
            day = storm + timedelta(days=1 + throw.randrange(4))
            if throw.random() < _AFTER_A_STORM and case.size.dbh_cm > 25 and stands(case, day):
                yield Visit(case.plan.tag, day, inspector_of(case.plan.spot.zone), "limited_visual", "storm")


def _requests(cases: list[Case], reference: date) -> Iterator[Visit]:
    """What residents reported in the last year."""
    for case in cases:
        throw = dice("request", case.plan.tag)
        day = days.working(reference - timedelta(days=throw.randrange(10, 330)))
        if throw.random() < _REQUESTS and case.size.dbh_cm > 20 and day < reference and stands(case, day):
            yield Visit(case.plan.tag, day, inspector_of(case.plan.spot.zone), "basic", "request")


def storm_days(reference: date) -> list[date]:
    """The days of the storms."""
    late = reference - timedelta(days=8)
    return [days.last(late, month, day, back=back) for month, day, back in _STORMS]
