"""What a crown reduction does to the wind load, year by year as the crown grows back, and to the likelihood of failure.

From the tree's own stem load where there is one, else from its measured or estimated outline by plain geometry.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from assessments.methods import growth
from assessments.methods.mechanics import judge
from assessments.methods.problems import MethodProblem
from assessments.methods.risk import FAILURE
from assessments.methods.stem_load import Tree as LoadedTree
from assessments.methods.stem_load import check
from assessments.methods.stem_load.check import after_reduction
from assessments.methods.stem_load.forces import crown_of
from assessments.methods.stem_load.tree import Reduction
from assessments.methods.wind import EXPONENTS, Crowns, Wind, moment_knm
from assessments.methods.wind.profile import DEFAULT_V10_M_S

from .contract import Case, LoadYear, Standing

METHOD: Final = "load_after_reduction"
VERSION: Final = 1

# Without mechanics: the base moment taken off, in %, from which failure falls by one and by two categories. Project's
# choice, after the published example of one category less after pruning.
STEP_PERCENT: Final = (20.0, 60.0)
_GROWN_BACK_PERCENT: Final = 1e-6
DEFAULT_DRAG: Final = 0.25
DEFAULT_BASE_SHARE: Final = 0.25
# Foliage of one season, ANSI A300, from memory.
MOST_FOLIAGE_PERCENT: Final = 25.0
RULE: Final = (
    "No stem load with the gusts of the site: failure falls by one category where the wind moment at the base falls by "
    "at least 20 %, by two from 60 % on; the project's choice."
)


@dataclass(frozen=True)
class Course:
    """The load by year after a cut, the categories by which failure of stem and of other parts falls, and notes."""

    years: tuple[LoadYear, ...]
    stem_steps: tuple[int, ...]
    other_steps: tuple[int, ...]
    notes: tuple[str, ...]


def steps_of(moment_reduced_percent: float) -> int:
    """Give the categories by which failure falls without mechanics.

    >>> [steps_of(percent) for percent in (19.9, 20.0, 60.0)]
    [0, 1, 2]
    """
    return sum(moment_reduced_percent >= least for least in STEP_PERCENT)


def foliage_percent(percent: float) -> tuple[float, float]:
    """Give the share of foliage removed by a reduction of length and width: by crown surface and by crown volume.

    >>> foliage_percent(10.0)
    (19.0, 27.1)
    """
    left = 1 - percent / 100
    return round(100 * (1 - left**2), 1), round(100 * (1 - left**3), 1)


def foliage_note(percent: float) -> str:
    """Say the foliage removed against the limit of one season."""
    low, high = foliage_percent(percent)
    said = f"{low:g} to {high:g} % of the foliage (by crown surface and by crown volume)"
    if low > MOST_FOLIAGE_PERCENT:
        return f"Takes {said}: more than the 25 % of one season (ANSI A300). Spread it over seasons or take less."
    if high > MOST_FOLIAGE_PERCENT:
        return f"Takes {said}: it may pass the 25 % of one season (ANSI A300). Take it in two seasons if so."
    return f"Takes {said}: within the 25 % of one season (ANSI A300)."


def course(case: Case, percent: float, years: int) -> Course | None:
    """Compute a reduction by a share of crown length and width over years of regrowth; None where no size is known.

    Worked out once a case: a stem load with sections that were measured takes up to a second a year.
    """
    key = ("load", percent, years)
    if key not in case.worked_out:
        case.worked_out[key] = _course(case, percent, years)
    found: Course | None = case.worked_out[key]
    return found


def _course(case: Case, percent: float, years: int) -> Course | None:
    tree = case.tree
    regrowth = case.assumptions.regrowth_m_a_year
    if tree.load is not None:
        return _by_stem_load(tree, tree.load, percent, years, regrowth)
    found = _outline(case)
    if found is None:
        return None
    crown, notes = found
    wind = Wind(DEFAULT_V10_M_S, "3s", EXPONENTS["suburb", "3s"])
    rows = [_moment(crown, crown, wind, percent, regrowth, year) for year in range(years)]
    steps = tuple(steps_of(one.moment_reduced_percent) for one in rows)
    return Course(tuple(rows), steps, steps, (*notes, RULE))


def _moment(whole: Crowns, crown: Crowns, wind: Wind, percent: float, regrowth: float, year: int) -> LoadYear:
    cut = crown.reduced(percent / 100, percent / 100, regrowth * year)
    before, after = (float(moment_knm(one, wind, 0.0)[0]) for one in (whole, cut))
    return LoadYear(year, 100 * (1 - after / before) if before else 0.0, None, None, "")


def _by_stem_load(tree: Standing, load: LoadedTree, percent: float, years: int, regrowth: float) -> Course:
    share = percent / 100
    cut = replace(load, reduction=Reduction(share, share, regrowth, tuple(map(float, range(years)))))
    crown = crown_of(load)
    whole = check(replace(load, places=tuple(place for place in load.places if place.measured)))
    before = judge(load, whole, tree.climate).category
    rows = []
    for year in range(years):
        moment = _moment(crown, crown, load.wind, percent, regrowth, year).moment_reduced_percent
        # A crown that has grown back altogether bears what it bore.
        result = after_reduction(cut, float(year)) if moment > _GROWN_BACK_PERCENT else whole
        category = judge(load, result, tree.climate).category
        rows.append(LoadYear(year, moment, result.weakest.safety, result.critical_gust_m_s(load)[1], category))
    other = tuple(steps_of(row.moment_reduced_percent) for row in rows)
    if not before:
        return Course(tuple(rows), other, other, (RULE,))
    stem = tuple(max(FAILURE.index(before) - FAILURE.index(row.category), 0) for row in rows)
    note = f"Stem: by its stem load, {before} before the cut; other parts: {RULE[RULE.index('failure') :]}"
    return Course(tuple(rows), stem, other, (note,))


def _outline(case: Case) -> tuple[Crowns, tuple[str, ...]] | None:
    tree, notes = case.tree, []
    height, width = tree.height_m, tree.crown_width_m
    if height is None:
        height = _estimated("height_from_dbh", tree, case.assumptions.growth_region)
        notes.append("Height by growth equation: measure it.")
    if width is None:
        width = _estimated("crown_from_dbh", tree, case.assumptions.growth_region)
        notes.append("Crown width by growth equation: measure it.")
    if height is None or width is None:
        return None
    base = tree.crown_base_m
    if base is None or base >= height:
        base = DEFAULT_BASE_SHARE * height
        notes.append("Crown base taken at a quarter of the height: measure it.")
    return Crowns.of(height, base, width, DEFAULT_DRAG), tuple(notes)


@lru_cache(maxsize=1024)
def _size(kind: str, species: str, dbh_cm: float, region: str) -> float | None:
    try:
        return growth.predict(kind, species, dbh_cm, region).value
    except MethodProblem:
        return None


def _estimated(kind: str, tree: Standing, region: str) -> float | None:
    if tree.dbh_cm is None or not tree.species:
        return None
    return _size(kind, tree.species, tree.dbh_cm, region)
