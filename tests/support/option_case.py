"""A roadside lime with four ratings, as options see it; tests change what they are about."""

from dataclasses import replace
from datetime import date
from typing import Any, Final

from assessments.methods.findings import Finding
from assessments.methods.options import Assumptions, Case, Rated, Site, Standing, Target
from assessments.methods.policy import default_policy
from assessments.methods.population import Population
from assessments.methods.rate_card import default_rate_card
from assessments.methods.replacement import Candidate, Place

TODAY: Final = date(2026, 11, 25)
FOOTWAY: Final = Target("footway", "frequent", "full", people=True, restrictable=True)
CARS: Final = Target("parked cars", "frequent", "partial", movable=True)
HOUSE: Final = Target("house", "constant", "full")
CAVITY: Final = Finding("cavity", "root_collar", measures={"opening_percent": 30})
DEAD_WOOD: Final = Finding("dead_wood", "branch", measures={"largest_diameter_cm": 8})
FORK: Final = Finding("codominant_stems", "union")
LIME: Final = Standing("Tilia cordata", "Tilia", "Malvaceae", 72.0, 18.0, 4.0, 11.0, value=9000.0)
CANDIDATES: Final = (
    Candidate("Acer campestre", "Acer", "Sapindaceae", 12, 9, "good"),
    Candidate("Carpinus betulus", "Carpinus", "Betulaceae", 18, 10, "good"),
    Candidate("Tilia cordata", "Tilia", "Malvaceae", 25, 15, "moderate"),
)
STANDS: Final = Population(1000, {"Tilia cordata": 250}, {"Tilia": 300, "Acer": 90}, {"Malvaceae": 310})


def case(**changes: Any) -> Case:
    """A case of moderate risk: a cavity over people and a house, dead wood over cars, a fork over people."""
    base = Case(
        findings=(CAVITY, DEAD_WOOD, FORK),
        targets=(FOOTWAY, CARS, HOUSE),
        ratings=(
            Rated("root_collar", 0, "probable", "medium", "severe", 0),
            Rated("root_collar", 2, "probable", "medium", "significant", 0),
            Rated("branch", 1, "possible", "low", "minor", 1),
            Rated("union", 0, "possible", "medium", "severe", 2),
        ),
        tree=LIME,
        site=Site("ordinary", Place("none", "strip", 2.5)),
        rates=default_rate_card(),
        policy=default_policy(),
        today=TODAY,
        assumptions=Assumptions(growth_region="NoEast"),
        candidates=CANDIDATES,
        population=STANDS,
    )
    return replace(base, **changes)


def rated(failure: str, *, part: str = "stem", impact: str = "high", consequences: str = "severe") -> Case:
    """A case of one rating without a finding, over people who can be kept away."""
    one = Rated(part, 0, failure, impact, consequences)
    return case(findings=(), targets=(FOOTWAY,), ratings=(one,))
