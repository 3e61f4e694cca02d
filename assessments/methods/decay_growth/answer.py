"""Says the course of decay as the JSON answer: band, first year in which the threshold is crossed, reasons, calls."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from . import choices
from .contract import Request, read
from .course import Course, allowance_cm, breach_log_odds, draw

METHOD: Final = "decay_growth_two_regimes"
VERSION: Final = 1

LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
FEWEST_DRAWS: Final = 50
ROOT_COLLAR: Final = "root_collar_examination"
INSIDE: Final = "inside_measurement"
NOTES: Final = (
    "Advice to a qualified person, never a verdict that a tree is safe; local codes and licensed practice come first.",
    "Project's choice throughout: odds of the two regimes, rates of spread and of growth, allowances; no published "
    "rates by species could be established.",
    "The thinnest wall is taken as going all round: t/R governs, and the loss is that of a concentric hollow.",
)


@dataclass(frozen=True)
class Answer:
    """What is said of one decayed part. `course` is None where no band is given, and `call` says what to do first."""

    request: Request
    course: Course | None
    call: str
    first_year: int | None
    chance_percent: npt.NDArray[np.float64] | None  # cumulative, by year
    reasons: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def interval_factor(self) -> float:
        """What an outside sign may do to an inspection interval where there is no band: halve it, never say now."""
        return 0.5 if self.course is None and (self.request.outside_sign or self.call == ROOT_COLLAR) else 1.0


def assess(request: Request) -> Answer:
    """Judge one decayed part.

    >>> from .contract import Measured
    >>> assess(Request(60.0, "butt", (Measured(9.0),))).call
    'root_collar_examination'
    """
    if why := _of_root(request):
        reasons = (f"{why}: no band is given, the root collar is to be examined first.",)
        return Answer(request, None, ROOT_COLLAR, None, None, reasons, NOTES[:1])
    if not request.measured:
        reasons = ("Nothing was measured inside: outside signs may halve an interval, they never say now.",)
        return Answer(request, None, INSIDE, None, None, reasons, NOTES[:1])
    course = draw(request)
    crossed = np.maximum.accumulate(_beyond(request, course), axis=1)
    chance = 100 * crossed.mean(axis=0)
    reached = np.flatnonzero(chance >= request.chance_percent)
    first = int(course.years[reached[0]]) if len(reached) else None
    return Answer(request, course, "", first, chance, tuple(_reasons(request, course)), _notes(request, course))


def _of_root(request: Request) -> str:
    """Say why this is a root or butt rot; empty where it is not."""
    if request.position in ("root", "butt"):
        return f"Decay of the {request.position}"
    fungus = choices.FUNGI.get(request.fungus)
    sure = request.fungus_confidence in ("certain", "probable")
    if fungus is not None and fungus.seat == "root_butt" and sure and request.position == "stem":
        return f"{fungus.genus} rots roots and butt"
    return ""


def _beyond(request: Request, course: Course) -> npt.NDArray[np.bool_]:
    if request.most_loss_percent is not None:
        return np.asarray(course.loss_percent >= request.most_loss_percent)
    assert request.least_t_over_r is not None  # noqa: S101 - one of the two is always there
    return np.asarray(course.t_over_r <= request.least_t_over_r)


def _reasons(request: Request, course: Course) -> list[str]:
    said = [
        f"{name.replace('_', ' ')} {word}: {'for' if odds > 0 else 'against'} breached decay ({odds:+.2f} log-odds)."
        for name, word, odds in breach_log_odds(request)
    ]
    if request.wound_years is not None:
        said.append("Where decay reaches beyond the stem of the time of wounding, wall 4 has been passed already.")
    if len(request.measured) > 1:
        said.append(f"{len(request.measured)} measurements in time weigh the draws: what did not fit counts less.")
    said.append(f"Breached in {100 * course.breached.mean():.0f} % of draws.")
    return said


def _notes(request: Request, course: Course) -> tuple[str, ...]:
    notes = list(NOTES)
    if allowance := allowance_cm(request):
        notes.append(
            f"Of {request.rot} rot the weakened zone is taken {allowance:g} cm wider than the visible one (project's "
            "choice)." if request.allowance_cm is None else
            f"The weakened zone is taken {allowance:g} cm wider than the visible one, as given."
        )  # fmt: skip
    if request.rot == "unknown":
        notes.append("The rot type is not known: of brown or soft rot the weakened zone would be wider.")
    if not request.walling_known:
        notes.append("How well the species walls off decay is not known: moderate is taken.")
    if request.fungus and request.fungus not in choices.FUNGI:
        notes.append("Nothing is known here of this genus of fungus: it changes nothing.")
    if request.ring_width_mm is None:
        notes.append("Ring width was not measured: a wide default by shoot growth is used; a core would sharpen it.")
    if len(request.measured) == 1:
        notes.append("Only one inside measurement: a second one at the same place some years later sharpens it most.")
    if course.effective_draws < FEWEST_DRAWS:
        notes.append("The measurements in time contradict each other or the model: take the band as a guess.")
    return tuple(notes)


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute decay over time from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> asked = {"diameter_cm": 60, "position": "stem", "measurements": [{"sound_wall_cm": 20}], "species": "Quercus"}
    >>> compute(asked)["first_year_crossed"] is None
    True
    """
    return as_json(assess(read(request)))


def as_json(answer: Answer) -> dict[str, Any]:
    """Say an answer in the contract's words."""
    asked, course = answer.request, answer.course
    return {
        "call": answer.call or None,
        "band": None if course is None else _band(course, answer),
        "first_year_crossed": answer.first_year,
        "interval_factor": answer.interval_factor,
        "breached_percent": None if course is None else round(100 * float(course.breached.mean()), 1),
        "threshold": {"t_over_r": asked.least_t_over_r, "loss_percent": asked.most_loss_percent},
        "chance_percent": asked.chance_percent,
        "allowance_cm": allowance_cm(asked),
        "reasons": list(answer.reasons),
        "notes": list(answer.notes),
        "method": METHOD,
        "version": VERSION,
    }


def _band(course: Course, answer: Answer) -> dict[str, Any]:
    assert answer.chance_percent is not None  # noqa: S101 - there wherever a course is
    return {
        "years": course.years.tolist(),
        "t_over_r": _quantiles(course.t_over_r, 4),
        "loss_percent": _quantiles(course.loss_percent, 2),
        "crossed_percent": answer.chance_percent.round(2).tolist(),
    }


def _quantiles(values: npt.NDArray[np.float64], digits: int) -> dict[str, list[float]]:
    low, median, high = np.quantile(values, (LOW, MIDDLE, HIGH), axis=0).round(digits).tolist()
    return {"low": low, "median": median, "high": high}
