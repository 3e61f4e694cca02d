"""Canopy and carbon that an option loses and regains, by the growth equations; what cannot be said is said so."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from assessments.methods import growth
from assessments.methods.growth import Balance, Grower, Stand
from assessments.methods.problems import MethodProblem
from assessments.methods.replacement import Judged

from .contract import Case, Choice

METHOD: Final = "option_canopy"
VERSION: Final = 1


@lru_cache(maxsize=256)
def _stand(tree: Grower, years: int) -> Stand:
    return growth.stand(tree, years)


@lru_cache(maxsize=256)
def _planted(species: str, years: int, region: str, family: str, delay: int) -> Stand:
    return growth.planted(species, years, region=region, family=family, delay_years=delay)


def balance(
    case: Case, choice: Choice, percent: float, fitting: Sequence[Judged]
) -> tuple[Balance | None, tuple[str, ...]]:
    """Give canopy and carbon over the horizon, or None and why. A dead tree has neither to lose."""
    tree, years = case.tree, case.assumptions.horizon_years
    if tree.dead:
        return None, ("The tree is dead: no canopy and no uptake are counted.",)
    if not tree.species or tree.dbh_cm is None:
        return None, ("Canopy and carbon need the species and the dbh.",)
    grower = Grower(
        tree.species, tree.dbh_cm, tree.crown_width_m, case.assumptions.growth_region, tree.family, tree.evergreen,
        tree.conifer,
    )  # fmt: skip
    try:
        kept = _stand(grower, years)
        after, said = _after(case, choice, percent, fitting, kept, years)
        return growth.balance(kept, after), said
    except MethodProblem as problem:
        return None, (f"Canopy and carbon are not computed: {problem}.",)


def _after(
    case: Case, choice: Choice, percent: float, fitting: Sequence[Judged], kept: Stand, years: int
) -> tuple[Stand, tuple[str, ...]]:
    if percent:
        assumed = case.assumptions
        return growth.reduced(kept, percent / 100, assumed.regrowth_m_a_year, assumed.repeat_years), ()
    if choice.kind == "habitat_stem":
        return growth.nothing(years), ("A habitat stem keeps no canopy; the carbon in it is not counted as kept.",)
    if choice.kind != "remove_and_replant":
        return kept, ()
    if not fitting:
        return growth.nothing(years), ("No replacement is known that fits: nothing is regained.",)
    new = fitting[0].candidate
    delay = min(case.assumptions.replant_delay_years, years)
    said = f"Regained by one {new.name}, planted {delay} year{'' if delay == 1 else 's'} after the removal."
    return _planted(new.name, years, case.assumptions.growth_region, new.family, delay), (said,)
