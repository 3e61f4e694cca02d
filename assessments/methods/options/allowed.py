"""Which alternatives a case allows, and why: read from its findings, targets, ratings and tree."""

from collections.abc import Callable
from typing import Final

from assessments.methods.risk import FAILURE, RISK, code

from .catalogue import ENTRIES
from .contract import Case
from .effects import STRUCTURE, closable, removable, supportable

METHOD: Final = "options_allowed"
VERSION: Final = 1

# From what size or age a tree is looked at as a veteran: project's choice.
VETERAN_CM: Final = 100.0
VETERAN_YEARS: Final = 120.0
# A stem lower than this is no habitat stem.
LEAST_HABITAT_M: Final = 6.0


def reasons(case: Case, kind: str) -> tuple[str, ...]:
    """Say why a kind is proposed for a case; nothing: it is not. Raises KeyError for a kind not in the catalogue."""
    return _RULES[kind](case)


def _at_least(case: Case, risk: str) -> bool:
    return code(RISK, case.risk) >= code(RISK, risk)


def _imminent(case: Case) -> bool:
    return any(rated.failure == FAILURE[-1] for rated in case.ratings)


def _targets(case: Case, flag: str, says: str) -> tuple[str, ...]:
    rated = {one.target for one in case.ratings}
    found = [case.targets[place].label for place in sorted(rated) if getattr(case.targets[place], flag)]
    return (f"{says}: {', '.join(found)}",) if found else ()


def _move(case: Case) -> tuple[str, ...]:
    return _targets(case, "movable", "can be moved")


def _restrict(case: Case) -> tuple[str, ...]:
    return _targets(case, "restrictable", "can be restricted")


def _close(case: Case) -> tuple[str, ...]:
    if not (_at_least(case, "high") or _imminent(case)):
        return ()
    if not any(closable(case, rated) for rated in case.ratings):
        return ()
    return (f"the risk is {case.risk or 'not rated'} until something is done",)


def _retain(case: Case) -> tuple[str, ...]:
    if not case.ratings or _imminent(case) or _at_least(case, "extreme"):
        return ()
    return (f"the risk is {case.risk}: the owner may accept it for a time",)


def _remove_part(case: Case) -> tuple[str, ...]:
    parts = sorted({rated.part.replace("_", " ") for rated in case.ratings if removable(case, rated)})
    return (f"the defect is on a part that can be cut off: {', '.join(parts)}",) if parts else ()


def _bears_cutting(case: Case) -> bool:
    return not (case.tree.dead or case.tree.palm or case.tree.conifer)


def _reduce(case: Case) -> tuple[str, ...]:
    parts = sorted(
        {rated.part.replace("_", " ") for rated in case.ratings if rated.part in STRUCTURE and _loadable(rated.failure)}
    )
    if not parts or not _bears_cutting(case):
        return ()
    return (f"less wind load on: {', '.join(parts)}",)


def _loadable(failure: str) -> bool:
    return failure in ("possible", "probable")


def _support(case: Case) -> tuple[str, ...]:
    if case.tree.dead or case.tree.palm:
        return ()
    kinds = {
        case.findings[rated.finding].kind if rated.finding is not None else "union"
        for rated in case.ratings
        if supportable(case, rated) and rated.failure != FAILURE[-1]
    }
    return (f"can be held together: {', '.join(sorted(kind.replace('_', ' ') for kind in kinds))}",) if kinds else ()


def _veteran(case: Case) -> tuple[str, ...]:
    tree = case.tree
    if not case.ratings or not _bears_cutting(case) or _imminent(case):
        return ()
    if tree.dbh_cm is not None and tree.dbh_cm >= VETERAN_CM:
        return (f"a stem of {tree.dbh_cm:g} cm",)
    if tree.age_years is not None and tree.age_years >= VETERAN_YEARS:
        return (f"about {tree.age_years:g} years old",)
    return ()


def _habitat(case: Case) -> tuple[str, ...]:
    tall = case.tree.height_m is None or case.tree.height_m >= LEAST_HABITAT_M
    if case.tree.palm or not tall or not (case.tree.dead or _at_least(case, "moderate")):
        return ()
    return ("the tree is dead: its stem is habitat",) if case.tree.dead else ("a low stem keeps habitat",)


def _diagnose(case: Case) -> tuple[str, ...]:
    if _imminent(case):
        return ()
    kinds = sorted({one.kind.replace("_", " ") for one in case.findings if one.kind in ENTRIES[_DIAGNOSIS].findings})
    return (f"what lies inside is not known: {', '.join(kinds)}",) if kinds else ()


def _remove(case: Case) -> tuple[str, ...]:
    if case.tree.dead:
        return ("the tree is dead",)
    if _at_least(case, "moderate"):
        return (f"the risk is {case.risk}",)
    return ()


_DIAGNOSIS: Final = "advanced_diagnosis"
_RULES: Final[dict[str, Callable[[Case], tuple[str, ...]]]] = {
    "move_target": _move,
    "restrict_target": _restrict,
    "temporary_closure": _close,
    "retain_and_monitor": _retain,
    "remove_part": _remove_part,
    "reduce_crown": _reduce,
    "install_support": _support,
    "veteran_management": _veteran,
    "habitat_stem": _habitat,
    _DIAGNOSIS: _diagnose,
    "remove_and_replant": _remove,
}
