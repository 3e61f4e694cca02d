"""What options are made from and what they say: the case of one inspected tree, a choice, an option, all frozen.

Years count from the action (year 0 is the first). Money in the card's currency; harm in expected deaths a year.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from assessments.methods import risk
from assessments.methods.findings import Finding
from assessments.methods.growth import Balance
from assessments.methods.harm import MAX_FRAME_YEARS
from assessments.methods.mechanics import Climate
from assessments.methods.money import LONGEST_YEARS, PresentValue, Upkeep
from assessments.methods.policy import Policy
from assessments.methods.population import Population
from assessments.methods.rate_card import RateCard
from assessments.methods.replacement import Candidate, Judged, Place
from assessments.methods.stem_load import Tree as LoadedTree

METHOD: Final = "options_contract"
VERSION: Final = 1


@dataclass(frozen=True)
class Target:
    """What could be struck, in the words of an inspection. `people`: people or vehicles with people in them."""

    label: str
    occupancy: str
    exposure: str
    fall_direction: str = "unknown"
    movable: bool = False
    restrictable: bool = False
    people: bool = False


@dataclass(frozen=True)
class Rated:
    """One decided rating: a part on the target at a place among the targets, from the finding at a place or None."""

    part: str
    target: int
    failure: str
    impact: str
    consequences: str
    finding: int | None = None

    @property
    def risk(self) -> str:
        """The rating by the published matrices."""
        return risk.rate(self.failure, self.impact, self.consequences)


@dataclass(frozen=True)
class Standing:
    """The tree. `load`: its stem load as computed, with the gusts of its site; `value`: as appraised, or None.

    `decay_chance`: by place of a finding, the chance (0 to 1) that its threshold is crossed by year 0, 1, ... .
    """

    species: str = ""
    genus: str = ""
    family: str = ""
    dbh_cm: float | None = None
    height_m: float | None = None
    crown_base_m: float | None = None
    crown_width_m: float | None = None
    age_years: float | None = None
    conifer: bool | None = None
    palm: bool = False
    evergreen: bool = False
    dead: bool = False
    load: LoadedTree | None = None
    climate: Climate | None = None
    value: float | None = None
    decay_chance: Mapping[int, tuple[float, ...]] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class Site:
    """The site: access as a word of the rate card, what a replacement must fit, whether the site may be replanted."""

    access: str = "ordinary"
    place: Place = field(default_factory=Place)
    replant: bool = True


@dataclass(frozen=True)
class Assumptions:
    """What a city may set. All defaults are the project's choice."""

    horizon_years: int = 20
    discount_rate_percent: float = 3.0
    reduction_percent: float = 10.0
    repeat_years: int = 5
    regrowth_m_a_year: float = 0.5
    closure_months: int = 3
    replant_delay_years: int = 1
    growth_region: str = ""

    def __post_init__(self) -> None:
        for name, least, most in (
            ("horizon_years", 1, LONGEST_YEARS), ("discount_rate_percent", 0, 50), ("reduction_percent", 1, 50),
            ("repeat_years", 1, 30), ("regrowth_m_a_year", 0, 5), ("closure_months", 1, 24),
            ("replant_delay_years", 0, 5),
        ):  # fmt: skip
            if not least <= getattr(self, name) <= most:
                raise ValueError(f"{name}: must be {least} to {most}")


@dataclass(frozen=True)
class Case:
    """One inspected tree with all that options need. `frame_years`: the time frame of its ratings, 1 to 5.

    `rated_on`: the day from which the policy counts until it is to be acted upon; None: today.
    """

    findings: tuple[Finding, ...]
    targets: tuple[Target, ...]
    ratings: tuple[Rated, ...]
    tree: Standing
    site: Site
    rates: RateCard
    policy: Policy
    today: date
    frame_years: int = 3
    assumptions: Assumptions = Assumptions()
    candidates: tuple[Candidate, ...] = ()
    population: Population = field(default_factory=lambda: Population(0, {}, {}, {}))
    rated_on: date | None = None
    # What is the same for several options of one case and takes long is worked out once: see load.py.
    worked_out: dict[Any, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not 1 <= self.frame_years <= MAX_FRAME_YEARS:
            raise ValueError(f"frame_years: must be 1 to {MAX_FRAME_YEARS}")
        for rated in self.ratings:
            if not 0 <= rated.target < len(self.targets):
                raise ValueError("ratings: a target is not among the targets")
            if rated.finding is not None and not 0 <= rated.finding < len(self.findings):
                raise ValueError("ratings: a finding is not among the findings")

    @property
    def risk(self) -> str:
        """The risk of the tree: its worst rating, or empty without one."""
        return risk.worst([rated.risk for rated in self.ratings])


@dataclass(frozen=True)
class Own:
    """What the arborist sets instead of what is computed; `residual` by place of the rating: failure, impact,
    consequences as words, for as long as the option lasts."""

    cost_now: float | None = None
    crew_hours: float | None = None
    upkeep: tuple[Upkeep, ...] | None = None
    residual: Mapping[int, tuple[str, str, str]] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class Choice:
    """A kind of the catalogue with its settings; None: as the catalogue, policy and assumptions have it.

    `percent`: of the crown's length and width. `months`: until a closure ends or the next inspection. `targets` and
    `findings`: the places it is meant for. `species`: of the replacement, else the first that fits.
    """

    kind: str
    percent: float | None = None
    months: int | None = None
    targets: tuple[int, ...] | None = None
    findings: tuple[int, ...] | None = None
    species: str = ""
    own: Own = Own()


@dataclass(frozen=True)
class Effect:
    """What an option does to one rating. `steps`: categories by which failure falls, by year; `gone`: the part is gone.

    `impact`: the word that stands instead; `share`: of each year in which all this holds; `words`: the arborist's own.
    """

    steps: tuple[int, ...]
    share: tuple[float, ...]
    gone: bool = False
    impact: str = ""
    words: tuple[str, str, str] | None = None
    why: str = ""


@dataclass(frozen=True)
class Residual:
    """The risk of one rating before and after. `holds_years`: after so many years it is more again; None: it holds."""

    rating: int
    part: str
    target: str
    failure: str
    impact: str
    consequences: str
    risk_before: str
    risk: str
    holds_years: int | None
    later_risk: str
    why: str


@dataclass(frozen=True)
class LoadYear:
    """Wind load a year after a reduction: the base moment taken off in %, safety factor and critical gust if known."""

    year: int
    moment_reduced_percent: float
    safety: tuple[float, float, float] | None
    gust_m_s: float | None
    category: str


@dataclass(frozen=True)
class Check:
    """A check that an option commits to: a kind of required check, the day it is due, and why."""

    kind: str
    due_on: date
    why: str


@dataclass(frozen=True)
class RiskYear:
    """Expected harm of one year (deaths; property converted) under the low, central and high map of words."""

    year: int
    low: float
    central: float
    high: float


@dataclass(frozen=True)
class CostYear:
    """What a year costs, and the present value of all costs up to it."""

    year: int
    cost: float
    present_so_far: float


@dataclass(frozen=True)
class Option:
    """One alternative with all that it brings. `methods`: each method and version that its numbers rest on.

    `foliage_percent`: share of the foliage removed, low and high. `value_lost`: appraised value; None: not appraised.
    `ends_on`: when a closure or an acceptance of risk ends.
    """

    kind: str
    label: str
    changes: str
    says: str
    choice: Choice
    why: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    act_by: date | None
    ends_on: date | None
    cost_now: float
    crew_hours: float
    upkeep: tuple[Upkeep, ...]
    present: PresentValue
    residual: tuple[Residual, ...]
    risk: str
    checks: tuple[Check, ...]
    foliage_percent: tuple[float, float] | None
    load: tuple[LoadYear, ...]
    balance: Balance | None
    value_lost: float | None
    replacements: tuple[Judged, ...]
    risk_years: tuple[RiskYear, ...]
    cost_years: tuple[CostYear, ...]
    effects: tuple[Effect, ...]
    methods: tuple[str, ...]
    currency: str = ""

    @property
    def harm(self) -> tuple[float, float, float]:
        """Expected harm over the horizon, not discounted, under the low, central and high map."""
        return (
            sum(one.low for one in self.risk_years),
            sum(one.central for one in self.risk_years),
            sum(one.high for one in self.risk_years),
        )
