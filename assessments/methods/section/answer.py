"""Computes one section whole and says it as the JSON answer: numbers, rules, pieces, notes, method and version."""

import math
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
import shapely
from shapely import Polygon

from assessments.methods.problems import MethodProblem

from .bounds import Bounds, bounds, worst_loss
from .cracks import Slit, slits
from .integrals import Shape, shape_of
from .modulus import Worst, largest_loss, whole
from .notes import notes_for
from .readings import Section
from .rules import RULES, Facts, Rule
from .torsion import stiffness_ratio
from .uncertainty import Interval, interval
from .voids import Residual, level_cm, reaches_air, residual

METHOD: Final = "residual_section_by_polygons"
VERSION: Final = 2

# Relative to the stem: below it a wall counts as nothing.
_NOTHING: Final = 1e-6


@dataclass(frozen=True)
class Answer:
    """Everything computed of one section; lengths in cm without bark, azimuths clockwise from north."""

    section: Section
    residual: Residual
    slits: tuple[Slit, ...]
    sound: Shape
    bounds: Bounds
    worst: Worst
    intact_cm3: float
    loss_percent: Interval
    largest_loss: tuple[float, float]  # percent, azimuth
    full_loss_percent: float
    none_loss_percent: float
    thinnest_wall_cm: float
    open: bool
    closed: bool
    torsion_ratio: float | None
    rules: dict[str, Rule]
    notes: tuple[str, ...]

    @property
    def t_over_r(self) -> float:
        """Thinnest wall over R = sqrt(area / pi)."""
        return self.thinnest_wall_cm / self.section.outline.radius_cm


def assess(section: Section) -> Answer:
    """Compute a section. Raises MethodProblem where an opening has nothing to run to or no sound wood is left.

    >>> from .outline import circle
    >>> from .readings import Reading
    >>> round(assess(Section(circle(80.0), (Reading(0.0, 15.0),), draws=0)).loss_percent.best_estimate, 1)
    15.3
    """
    found = residual(section)
    _check(section, found)
    cracks = slits(section, found)
    both, sound = bounds(found, cracks), shape_of(section.outline.polygon)
    sound_bending = whole(sound)
    worst, _ = worst_loss(both.reported, sound_bending)
    is_open = bool(section.openings) or reaches_air(found)
    joined = _opened(section, found, cracks)
    thinnest = thinnest_wall_cm(section, found)
    rules = {name: rule(_facts(section, found, thinnest, is_open)) for name, rule in RULES.items()}
    ratio = stiffness_ratio(section.outline, found) if joined and not both.parted else None
    losses = interval(section, sound_bending, both)
    answer = Answer(
        section, found, tuple(cracks), sound, both, worst, float(sound_bending.modulus_cm3(worst.azimuth_deg)), losses,
        largest_loss(both.reported, sound_bending), worst_loss(both.full, sound_bending)[1],
        worst_loss(both.none, sound_bending)[1], thinnest, is_open, not joined and not both.parted, ratio, rules, (),
    )  # fmt: skip
    return Answer(**{**vars(answer), "notes": notes_for(answer)})


def _check(section: Section, found: Residual) -> None:
    for index, opening in enumerate(section.openings):
        if level_cm(opening, section, found.decay) is None:
            raise MethodProblem(f"/openings/{index}/depth_cm", "is needed: this opening faces no void")
    if found.wood.is_empty:
        raise MethodProblem("/readings" if section.readings else "/voids_cm", "leaves no sound wood")


def _opened(section: Section, found: Residual, cracks: list[Slit]) -> bool:
    """Whether a crack or air joins the edge to a void: then no closed ring of wood is left round it."""
    return reaches_air(found) or any(crack.at_edge and crack.at_void for crack in cracks)


def thinnest_wall_cm(section: Section, found: Residual) -> float:
    """Give the least distance between surface and void; without a void the shortest reading, or R."""
    if found.decay.is_empty:
        return min((r.sound_wall_cm for r in section.readings), default=section.outline.radius_cm)
    wall = float(shapely.distance(section.outline.polygon.exterior, found.decay))
    if section.outline.circle_radius_cm:
        # Of the true circle, not of its polygon.
        points = shapely.get_coordinates(found.decay)
        wall = section.outline.circle_radius_cm - float(np.hypot(*points.T).max())
    return wall if wall > _NOTHING * section.outline.radius_cm else 0.0


def _facts(section: Section, found: Residual, thinnest: float, is_open: bool) -> Facts:
    radius, voids = section.outline.radius_cm, [p for p in shapely.get_parts(found.decay) if isinstance(p, Polygon)]
    offset = math.hypot(found.decay.centroid.x, found.decay.centroid.y) / radius if voids else 0.0
    edge = section.outline.polygon.exterior
    # Openings, and what a void takes of the surface itself.
    gone = shapely.union(found.cuts, found.decay).buffer(_NOTHING * radius)
    share = float(shapely.intersection(edge, gone).length / edge.length) if is_open else 0.0
    return Facts(
        diameter_cm=2 * radius, hollow_cm=2 * math.sqrt(found.decay.area / math.pi), thinnest_wall_cm=thinnest,
        offset_share=offset, voids=len(voids), opening_share=share, open=is_open, cracked=bool(section.cracks),
        readings=len(section.readings), measured=bool(section.readings or section.voids or section.openings),
    )  # fmt: skip


def as_json(answer: Answer) -> dict[str, Any]:
    """Say an answer in the contract's words; numbers to seven significant digits."""
    worst, percent = answer.worst, asdict(answer.loss_percent)
    out: dict[str, Any] = {
        "height_m": answer.section.height_m,
        "gross_area_cm2": answer.section.outline.area_cm2,
        "sound_area_cm2": _sound_area(answer),
        "thinnest_wall_cm": answer.thinnest_wall_cm,
        "open": answer.open,
        "closed": answer.closed,
        "t_over_r": answer.t_over_r,
        "modulus": {
            "worst_cm3": worst.modulus_cm3,
            "worst_azimuth_deg": worst.azimuth_deg,
            "intact_cm3": answer.intact_cm3,
            "loss_percent": percent,
        },
        "largest_loss": {"percent": answer.largest_loss[0], "azimuth_deg": answer.largest_loss[1]},
        "compression_azimuth_deg": worst.compression_azimuth_deg,
        "composite": {
            "full_loss_percent": answer.full_loss_percent,
            "none_loss_percent": answer.none_loss_percent,
            "pieces_if_cracks_run_on": len(answer.bounds.run_on),
        },
        "torsional_stiffness_ratio": answer.torsion_ratio,
        "residual": _shape(answer.bounds.shape, answer.section.outline.centre_cm),
        "sound": _shape(answer.sound, answer.section.outline.centre_cm),
        "rules": {name: asdict(rule) for name, rule in answer.rules.items()},
        "pieces": len(answer.bounds.pieces),
        "notes": list(answer.notes),
        "method": METHOD,
        "version": VERSION,
    }
    rounded: dict[str, Any] = _rounded(out)
    modulus, largest = rounded["modulus"], rounded["largest_loss"]
    modulus["worst_azimuth_deg"] = round(worst.azimuth_deg, 3) % 180
    largest["azimuth_deg"] = round(answer.largest_loss[1], 3) % 180
    rounded["compression_azimuth_deg"] = round(worst.compression_azimuth_deg, 3) % 360
    return rounded


def _sound_area(answer: Answer) -> float:
    """Of the true circle where the outline is one: its polygon is smaller by the same share inside and out."""
    gross, drawn = answer.section.outline.area_cm2, answer.section.outline.polygon.area
    return float(answer.bounds.shape.area_cm2 * gross / drawn)


def _shape(shape: Shape, centre: tuple[float, float]) -> dict[str, Any]:
    return {
        "centroid_cm": [shape.centroid_cm[0] + centre[0], shape.centroid_cm[1] + centre[1]],
        "ixx_cm4": shape.ixx_cm4,
        "iyy_cm4": shape.iyy_cm4,
        "ixy_cm4": shape.ixy_cm4,
        "principal_cm4": list(shape.principal_cm4),
        "stiffest_azimuth_deg": shape.stiffest_azimuth_deg,
    }


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value
