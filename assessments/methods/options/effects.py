"""What each kind of option does to each rating: to likelihood of failure, of impact, for how long, and why."""

from collections.abc import Callable, Sequence
from typing import Final

from assessments.methods.risk import FAILURE, impact_from

from .catalogue import ENTRIES
from .contract import Case, Choice, Effect, Rated
from .load import Course

METHOD: Final = "option_effects"
VERSION: Final = 1

# Parts that stand with the stem and its roots; the others go with the crown.
STRUCTURE: Final = ("stem", "union", "root_collar", "root", "limb", "top")
LOWER: Final = ("stem", "root_collar", "root")
_WORST: Final = FAILURE.index("imminent")


def effects(case: Case, choice: Choice, course: Course | None) -> tuple[Effect, ...]:
    """Give the effect of a choice on each rating, the arborist's own words winning. One effect a rating."""
    found = (_EFFECTS[choice.kind](case, choice, rated, course) for rated in case.ratings)
    return tuple(_own(case, choice, place, effect) for place, effect in enumerate(found))


def _own(case: Case, choice: Choice, place: int, effect: Effect) -> Effect:
    words = choice.own.residual.get(place)
    if words is None:
        return effect
    years = case.assumptions.horizon_years
    return Effect((0,) * years, (1.0,) * years, words=words, why="as the arborist has set it")


def unchanged(case: Case, why: str = "") -> Effect:
    """Give the effect of nothing."""
    years = case.assumptions.horizon_years
    return Effect((0,) * years, (1.0,) * years, why=why)


def _gone(case: Case, why: str) -> Effect:
    years = case.assumptions.horizon_years
    return Effect((0,) * years, (1.0,) * years, gone=True, why=why)


def _cycled(case: Case, steps: Sequence[int], why: str) -> Effect:
    years = case.assumptions.horizon_years
    return Effect(tuple(steps[year % len(steps)] for year in range(years)), (1.0,) * years, why=why)


def meant(places: tuple[int, ...] | None, place: int | None) -> bool:
    """Tell whether a choice means a place; without places it means all."""
    return places is None or place in places


def _moved(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if not case.targets[rated.target].movable or not meant(choice.targets, rated.target):
        return unchanged(case)
    years = case.assumptions.horizon_years
    why = "the target is no longer where the part can fall"
    return Effect((0,) * years, (1.0,) * years, impact="very_low", why=why)


def _rare_impact(case: Case, rated: Rated) -> str:
    target = case.targets[rated.target]
    return impact_from("rare", target.exposure, target.fall_direction).word


def _restricted(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if not case.targets[rated.target].restrictable or not meant(choice.targets, rated.target):
        return unchanged(case)
    years = case.assumptions.horizon_years
    why = "the target is there rarely while the restriction holds"
    return Effect((0,) * years, (1.0,) * years, impact=_rare_impact(case, rated), why=why)


def closable(case: Case, rated: Rated) -> bool:
    """Tell whether the area of a target can be closed: it says so, or people come and go."""
    target = case.targets[rated.target]
    return target.restrictable or target.people


def _closed(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if not closable(case, rated) or not meant(choice.targets, rated.target):
        return unchanged(case)
    years = case.assumptions.horizon_years
    closed = (choice.months or case.assumptions.closure_months) / 12
    share = tuple(min(max(closed - year, 0.0), 1.0) for year in range(years))
    why = "the area is closed until the closure ends"
    return Effect((0,) * years, share, impact=_rare_impact(case, rated), why=why)


def _retained(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    return unchanged(case, "looking changes nothing until it is acted upon")


def removable(case: Case, rated: Rated) -> bool:
    """Tell whether what a rating is of can be cut off: a limb, branch or top, or dead and broken wood in the crown."""
    entry = ENTRIES["remove_part"]
    if rated.part in entry.parts:
        return True
    kind = "" if rated.finding is None else case.findings[rated.finding].kind
    return rated.part == "crown" and kind in entry.findings


def _part_removed(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if removable(case, rated) and meant(choice.findings, rated.finding):
        return _gone(case, f"the {rated.part.replace('_', ' ')} is cut off")
    return unchanged(case)


def _reduced(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if rated.part not in STRUCTURE:
        return unchanged(case)
    if course is None:
        return unchanged(case, "the tree's size is not known: no change of load is computed")
    if rated.failure == FAILURE[_WORST]:
        return unchanged(case, "failure has begun: less load does not undo it")
    steps = course.stem_steps if rated.part == "stem" else course.other_steps
    taken = course.years[0].moment_reduced_percent
    why = f"the wind moment falls by {taken:.0f} %, fading as the crown grows back"
    return _cycled(case, steps, why)


def supportable(case: Case, rated: Rated) -> bool:
    """Tell whether a support helps: a finding that it is made for, on a union or a limb."""
    entry = ENTRIES["install_support"]
    kind = "" if rated.finding is None else case.findings[rated.finding].kind
    return rated.part in entry.parts and (kind in entry.findings or (not kind and rated.part == "union"))


def _supported(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if not supportable(case, rated) or not meant(choice.findings, rated.finding):
        return unchanged(case)
    if rated.failure == FAILURE[_WORST]:
        return unchanged(case, "failure has begun: a support does not undo it")
    return _cycled(case, (1,), "held together while the support is kept up: one category less, the project's choice")


def _veteran(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if removable(case, rated) and rated.part != "limb":
        return _gone(case, "dead and loose wood over the target is made safe")
    return _reduced(case, choice, rated, course)


def _habitat(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    if rated.part not in LOWER:
        return _gone(case, "the crown is taken off")
    if rated.failure == FAILURE[_WORST]:
        return unchanged(case, "failure has begun: less load does not undo it")
    return _cycled(case, (2,), "hardly any wind load is left: two categories less, the project's choice")


def _diagnosed(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    return unchanged(case, "a reading changes what is known, not the tree")


def _removed(case: Case, choice: Choice, rated: Rated, course: Course | None) -> Effect:
    return _gone(case, "the tree is gone")


_EFFECTS: Final[dict[str, Callable[[Case, Choice, Rated, Course | None], Effect]]] = {
    "move_target": _moved,
    "restrict_target": _restricted,
    "temporary_closure": _closed,
    "retain_and_monitor": _retained,
    "remove_part": _part_removed,
    "reduce_crown": _reduced,
    "install_support": _supported,
    "veteran_management": _veteran,
    "habitat_stem": _habitat,
    "advanced_diagnosis": _diagnosed,
    "remove_and_replant": _removed,
}
