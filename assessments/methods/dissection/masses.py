"""Masses of the felled stem: as predicted from its outside, with what was found inside, and as weighed.

Cavities weigh nothing. How much decayed wood still weighs is not known: it is counted whole and not at all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from assessments.methods import log_mass
from assessments.methods.log_mass import Log
from assessments.methods.problems import MethodProblem

from .columns import void_cm2
from .contract import Request, area_cm2

METHOD: Final = "stem_masses_from_cuts"
VERSION: Final = 1

_SAYABLE: Final = ("/species", "/green_density_kg_m3")


@dataclass(frozen=True)
class Mass:
    """Mass of a stretch in kg. `as_sound`: predicted from outside; `low`: no decayed wood; `high`: all of it."""

    from_m: float
    to_m: float
    as_sound_kg: float
    low_kg: float
    high_kg: float
    weighed_kg: float | None = None

    @property
    def error_percent(self) -> float | None:
        """How far the prediction as sound lies over what was weighed."""
        return None if self.weighed_kg is None else 100 * (self.as_sound_kg / self.weighed_kg - 1)


@dataclass(frozen=True)
class Masses:
    """The stem between its outermost cuts, and each weighed piece."""

    density_kg_m3: float
    whole: Mass
    pieces: tuple[Mass, ...]
    notes: tuple[str, ...]


def masses(request: Request) -> Masses | str:
    """Compute masses, or say why there are none. Raises MethodProblem for an unknown species."""
    cuts = request.cuts
    if len(cuts) < 2:
        return "A mass needs two cuts or more."
    if request.species is None and request.green_density_kg_m3 is None:
        return "A mass needs the species or the density of the green wood."
    cavities = [area_cm2(cut.cavities, cut.section.outline.polygon) for cut in cuts]
    found = _asked(request)
    density = float(found["green_density_kg_m3"])
    logs = tuple(_log(request, voids) for voids in ([0.0] * len(cuts), [void_cm2(cut) for cut in cuts], cavities))
    stretches = [(cuts[0].height_m, cuts[-1].height_m, None)]
    pieces = [(one.from_m, one.to_m, one.mass_kg) for one in request.weighed]
    whole, *rest = (_mass(logs, density, *one) for one in (*stretches, *pieces))
    return Masses(density, whole, tuple(rest), tuple(found["notes"]))


def _asked(request: Request) -> dict[str, Any]:
    """The answer of the log's own method for the sound stem: its density and notes."""
    sections = [{"height_m": cut.height_m, "diameter_cm": cut.over_bark_cm} for cut in request.cuts]
    if request.cuts[-1].height_m - request.cuts[0].height_m < log_mass.STEP_M:
        raise MethodProblem("/cuts", "lie within a centimetre: no mass can be computed")
    asked: dict[str, Any] = {"sections": _spread(sections)}
    if request.species is not None:
        asked["species"] = request.species
    if request.green_density_kg_m3 is not None:
        asked["green_density_kg_m3"] = request.green_density_kg_m3
    return log_mass.compute(asked)


def _spread(sections: list[dict[str, float]]) -> list[dict[str, float]]:
    """Only the outermost: the log's method takes none nearer than a centimetre, and only its density is used."""
    return [sections[0], sections[-1]]


def _log(request: Request, voids: Sequence[float]) -> Log:
    return Log.of([(cut.height_m, cut.over_bark_cm, void) for cut, void in zip(request.cuts, voids, strict=True)])


def _mass(logs: tuple[Log, ...], density: float, from_m: float, to_m: float, weighed: float | None) -> Mass:
    sound, low, high = (density * float(log.volume_below_m3(to_m) - log.volume_below_m3(from_m)) for log in logs)
    return Mass(from_m, to_m, sound, low, high, weighed)
