"""The trees of the invented city: species, age, sizes and state of each, those that went since, and the young ones."""

import csv
import uuid
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Final

from deploy.demo import days
from deploy.demo.dice import dice, pick
from deploy.demo.growth import Body, Habit, body, habit
from deploy.demo.places import Spot
from inventory.catalogue import SpeciesRow, read_species

_LOST: Final = 0.042
_DEAD: Final = 0.004
_YOUNG_FROM: Final = 0.06
_FEW_A_STREET: Final = ("grid", "grid_south", "residential", "garden")
_REASONS: Final = (
    ("dead", 0.3), ("decay at the base", 0.25), ("storm damage", 0.18), ("dieback", 0.17), ("building works", 0.1),
)  # fmt: skip


@dataclass(frozen=True)
class Size:
    """A measurement: the day, how, and the sizes; of a class only its bounds in cm."""

    on: date
    method: str
    body: Body
    bounds_cm: tuple[float, float] | None = None


@dataclass(frozen=True)
class TreePlan:
    """One tree: where, what, since when, until when. `on_site`: its place is kept as a site of its own."""

    tag: str
    spot: Spot
    on_site: bool
    species: SpeciesRow
    planted_from: date | None
    planted_to: date | None
    age_years: float
    grown: Habit
    state: str
    removed_on: date | None
    removal_reason: str
    sizes: tuple[Size, ...]

    @property
    def uid(self) -> uuid.UUID:
        """Its key."""
        return days.key("tree", self.tag)

    @property
    def newest(self) -> Body | None:
        """The newest sizes as numbers, None where it was never measured or only put into a class."""
        known = [size.body for size in self.sizes if size.bounds_cm is None]
        return known[-1] if known else None

    def body_on(self, day: date, reference: date) -> Body:
        """Its true sizes on a day."""
        return body(self.grown, self.age_years - (reference - day).days / 365.25)


@cache
def mixes() -> Mapping[str, list[tuple[str, float]]]:
    """The shares of species by mix."""
    found: dict[str, list[tuple[str, float]]] = defaultdict(list)
    with Path(__file__).with_name("mixes.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            found[row["mix"]].append((row["species"], float(row["share"])))
    return found


@cache
def catalogue() -> Mapping[str, SpeciesRow]:
    """The species by botanical name."""
    return {row.botanical_name: row for row in read_species()}


def every_tree(spots: list[Spot], reference: date) -> list[TreePlan]:
    """Give all trees in the order of their places; of two at one place the one that went comes first."""
    return [tree for spot in spots if spot.state == "planted" for tree in _at(spot, reference)]


def _at(spot: Spot, reference: date) -> Iterator[TreePlan]:
    throw = dice("tree", spot.number)
    on_site = spot.kind != "green" or throw.random() < 0.6
    tag = f"{spot.zone}-{spot.number:05d}"
    if throw.random() >= _LOST:
        yield _standing(tag, spot, on_site, reference)
        return
    removed_on = reference - timedelta(days=throw.randrange(25, 1080))
    replant = throw.random() < 0.55 and days.planting_day(removed_on + timedelta(days=60), tag)
    replanted = bool(replant and replant < reference)
    stump = not replanted and (reference - removed_on).days < 320 and throw.random() < 0.7
    old = _standing(tag, spot, on_site, reference, old_only=True)
    kept = [size for size in old.sizes if size.on < removed_on]
    yield replace(
        old,
        state="stump" if stump else "removed",
        removed_on=removed_on,
        removal_reason=pick(throw, _REASONS),
        sizes=tuple(kept or [replace(old.sizes[0], on=removed_on)]) if old.sizes else (),
    )
    if replanted and replant:
        yield _planted(f"{tag}-R", spot, on_site, replant, reference, mix="replacement")


def _standing(tag: str, spot: Spot, on_site: bool, reference: date, old_only: bool = False) -> TreePlan:
    throw = dice("standing", tag)
    if not old_only and throw.random() < _YOUNG_FROM:
        first = reference - timedelta(days=throw.randrange(40, 1500))
        planted = days.planting_day(first, tag)
        if planted < reference:
            return _planted(tag, spot, on_site, planted, reference)
    age = _age(spot, tag)
    species = _species(spot, tag, spot.mix)
    year = reference.year - age
    known = throw.random() < (0.9 if age < 45 else 0.55)
    dead = not old_only and throw.random() < _DEAD
    return _tree(
        tag, spot, on_site, species, reference,
        planted=(date(year, 1, 1), date(year, 12, 31)) if known else None, age=float(age), dead=dead,
    )  # fmt: skip


def _planted(tag: str, spot: Spot, on_site: bool, planted: date, reference: date, mix: str = "") -> TreePlan:
    """A young tree whose day of planting is known."""
    species = _species(spot, tag, mix if mix and dice("mix", tag).random() < 0.5 else spot.mix)
    age = (reference - planted).days / 365.25
    return _tree(tag, spot, on_site, species, reference, planted=(planted, planted), age=age, dead=False)


def _tree(
    tag: str,
    spot: Spot,
    on_site: bool,
    species: SpeciesRow,
    reference: date,
    *,
    planted: tuple[date, date] | None,
    age: float,
    dead: bool,
) -> TreePlan:
    grown = habit(species, spot.kind, spot.lines in ("low_voltage", "high_voltage"), tag)
    plan = TreePlan(
        tag=tag,
        spot=spot,
        on_site=on_site,
        species=species,
        planted_from=planted[0] if planted else None,
        planted_to=planted[1] if planted else None,
        age_years=age,
        grown=grown,
        state="dead" if dead else "alive",
        removed_on=None,
        removal_reason="",
        sizes=(),
    )
    return replace(plan, sizes=tuple(_sizes(plan, reference)))


def _age(spot: Spot, tag: str) -> int:
    """Most trees of a street are of its first planting; some were replaced since."""
    throw = dice("age", tag)
    oldest, newest = spot.era
    if spot.kind == "green":
        return round(newest + (oldest - newest) * throw.betavariate(1.6, 2.1))
    first = dice("campaign", spot.street).uniform(newest + 0.6 * (oldest - newest), oldest)
    if throw.random() < 0.78:
        return max(5, round(first - abs(throw.gauss(0, 3))))
    return max(4, round(throw.uniform(min(4, newest), first)))


def _species(spot: Spot, tag: str, mix: str) -> SpeciesRow:
    """A street of the quarters has a few species of its mix; elsewhere all of them stand mixed."""
    shares = mixes()[mix]
    if mix in _FEW_A_STREET:
        choose = dice("species of", spot.street, mix)
        few = [pick(choose, shares) for _ in range(4)]
        shares = [(name, share) for name, share in zip(few, (0.6, 0.2, 0.12, 0.08), strict=True)]
    return catalogue()[pick(dice("species", tag), shares)]


def _sizes(plan: TreePlan, reference: date) -> Iterator[Size]:
    """The first survey, and for some trees a later one."""
    throw = dice("sizes", plan.tag)
    if throw.random() < 0.015:
        return  # never measured
    survey = days.taken_over(reference) - timedelta(days=throw.randrange(20, 150))
    first = max(survey, plan.planted_to + timedelta(days=20)) if plan.planted_to else survey
    first = min(first, reference)
    if throw.random() < 0.03:
        yield _class(plan, first, reference)
        return
    method = pick(throw, (("tape", 0.62), ("laser", 0.22), ("estimate", 0.16)))
    yield Size(first, method, plan.body_on(first, reference))
    later = first + timedelta(days=throw.randrange(380, 900))
    if throw.random() < 0.3 and later < reference:
        yield Size(later, "tape", plan.body_on(later, reference))


def _class(plan: TreePlan, on: date, reference: date) -> Size:
    """A size that was only put into a class of 15 cm."""
    known = plan.body_on(on, reference)
    low = 15.0 * (known.dbh_cm // 15.0)
    return Size(on, "size_class", known, (low, low + 15.0))
