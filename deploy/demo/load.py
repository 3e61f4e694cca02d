"""Loads the invented city into an empty municipality, all of it or nothing."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db import transaction

from deploy.demo import city as plans
from deploy.demo import days, enact, learned, orders, people, plant, stock, weather
from deploy.demo.city import City
from deploy.demo.dice import dice, pick
from deploy.demo.enact import Stage
from inventory import events
from inventory.history import Author
from inventory.models import Site, Tree, Zone

_STUMPS: Final = 6
_PLANTINGS: Final = 6


class NotEmpty(Exception):
    """The municipality holds trees that are not the demo's."""


@dataclass(frozen=True)
class Loaded:
    """What stands after a load. `fresh`: whether it was loaded now."""

    fresh: bool
    counts: dict[str, int]


def load(reference: date, password: str) -> Loaded:
    """Load the demo city unless it is there already. Raises NotEmpty beside other trees."""
    if is_there():
        return Loaded(False, counts())
    if Tree.objects.exists() or Site.objects.exists() or Zone.objects.exists():
        raise NotEmpty("this municipality holds trees, sites or zones of its own")
    invented = plans.invent(reference)
    with transaction.atomic():
        users = people.settle(password, days.taken_over(reference) - timedelta(days=400))
        authors = {key: Author(user.pk, "demo") for key, user in users.items()}
        weather.settle(authors["forester"])
        trees = plant.plant(authors["forester"], invented)
        stage = Stage(authors, trees, reference)
        enact.enact(stage, invented.chronicle, extra_orders(invented))
        learned.learn(stage, invented)
        events.record(authors["forester"], "demo.loaded", "municipality", data=counts())
    return Loaded(True, counts())


def is_there() -> bool:
    """Tell whether trees of the demo are recorded."""
    return Tree.objects.filter(uid__in=[days.key("tree", f"HM-000{n}") for n in range(1, 7)]).exists()


def counts() -> dict[str, int]:
    """How much there is of each."""
    return {
        "zones": Zone.objects.count(),
        "sites": Site.objects.count(),
        "standing trees": Tree.objects.filter(state__in=("alive", "dead")).count(),
        "removed trees": Tree.objects.filter(state__in=("stump", "removed")).count(),
    }


def extra_orders(invented: City) -> list[orders.OrderPlan]:
    """Stumps to be ground out, and planting where trees went."""
    gone: dict[str, list[str]] = {"stump": [], "removed": []}
    last = {tree.spot.number: tree for tree in invented.trees}
    for tree in last.values():
        if tree.state in gone and tree.on_site:
            gone[tree.state].append(tree.tag)
    throw = dice("winter planting")
    species = [pick(throw, stock.mixes()["replacement"]) for _ in range(_PLANTINGS)]
    return [
        orders.stumps_to_grind(gone["stump"][:_STUMPS], invented.reference),
        orders.winter_planting(gone["removed"][:_PLANTINGS], species, invented.reference),
    ]
