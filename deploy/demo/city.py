"""The whole invented city as a plan: a pure function of the reference date, the same every time."""

from dataclasses import dataclass
from datetime import date

from deploy.demo import chronicle, places, stock, story
from deploy.demo.chronicle import Chronicle
from deploy.demo.places import Spot
from deploy.demo.stock import TreePlan


@dataclass(frozen=True)
class City:
    """Places, trees, and what happened to them."""

    reference: date
    spots: list[Spot]
    trees: list[TreePlan]
    chronicle: Chronicle


def invent(reference: date) -> City:
    """Invent Harrowmere as it stands on the reference date."""
    spots = places.every_place()
    told = story.told(stock.every_tree(spots, reference))
    return City(reference, spots, [tree for tree, _ in told], chronicle.unfold(told, reference))
