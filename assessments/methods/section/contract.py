"""The JSON request of a section, read strictly: every wrong field is named by its pointer, and nothing is guessed."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, TypeVar

import numpy as np
import shapely
from shapely import Polygon

from assessments.methods import tables
from assessments.methods.problems import MethodProblem, number

from . import outline as outlines
from .outline import Outline
from .readings import Crack, Opening, Reading, Section

METHOD: Final = "section_request"
VERSION: Final = 1

T = TypeVar("T")

LARGEST_CM: Final = 2000.0
MOST_READINGS: Final = 360
MOST_PARTS: Final = 24
MOST_VERTICES: Final = 2000
MOST_VOID_VERTICES: Final = 4000
MOST_DRAWS: Final = 1000
DEFAULT_DRAWS: Final = 500
# A wall cannot be longer than the stem is thick; tape and callipers disagree a little.
TOLERANCE: Final = 1.1
DEFAULT_ERROR_CM: Final = 1.0

SIZES: Final = ("diameter_cm", "girth_cm", "outline_cm")
FIELDS: Final = (*SIZES, "bark_cm", "height_m", "readings", "openings", "voids_cm", "cracks", "draws", "seed")

_ERRORS: Final = {row["method"]: (float(row["error_cm"]), float(row["share"])) for row in tables.read("reading_errors")}


def read(request: object) -> Section:
    """Read a request into a section. Raises MethodProblem that names every field known to be wrong.

    >>> read({"diameter_cm": 80, "readings": [{"azimuth_deg": 0, "sound_wall_cm": 15}]}).readings[0].error_cm
    1.0
    """
    fields = _object(request, "", FIELDS)
    outline = _outline(fields)
    section = Section(
        outline=outline,
        readings=_items(fields, "readings", MOST_READINGS, _reading),
        openings=_items(fields, "openings", MOST_PARTS, _opening),
        voids=_items(fields, "voids_cm", MOST_PARTS, lambda item, at: _void(item, at, outline)),
        cracks=_items(fields, "cracks", MOST_PARTS, _crack),
        height_m=None if fields.get("height_m") is None else number(fields["height_m"], "/height_m", 0, 150),
        draws=_whole(fields, "draws", DEFAULT_DRAWS, MOST_DRAWS),
        seed=_whole(fields, "seed", 1, 2**63 - 1),
    )
    problems = [
        problem
        for check in (_check_voids, _check_readings, _check_openings, _check_cracks)
        for problem in check(section)
    ]
    if problems:
        raise MethodProblem.of([field for problem in problems for field in problem.fields])
    return section


def _object(value: object, pointer: str, known: Sequence[str]) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise MethodProblem(pointer, "must be an object")
    for name in value:
        if name not in known:
            raise MethodProblem(f"{pointer}/{str(name)[:40]}", f"is not known; there are {', '.join(known)}")
    return value


def _needed(fields: Mapping[str, Any], name: str, at: str, least: float, most: float, *, above: bool = False) -> float:
    if fields.get(name) is None:
        raise MethodProblem(f"{at}/{name}", "is missing")
    return number(fields[name], f"{at}/{name}", least, most, above=above)


def _whole(fields: Mapping[str, Any], name: str, default: int, most: int) -> int:
    value = fields.get(name, default)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise MethodProblem(f"/{name}", f"must be a whole number from 0 to {most}")
    return value


def _items(fields: Mapping[str, Any], name: str, most: int, one: Callable[[object, str], T]) -> tuple[T, ...]:
    value = fields.get(name)
    if value is None:
        return ()
    if isinstance(value, str | bytes) or not isinstance(value, Sequence):
        raise MethodProblem(f"/{name}", "must be an array")
    if len(value) > most:
        raise MethodProblem(f"/{name}", f"has {len(value)} items; at most {most} are taken")
    found, problems = [], []
    for index, item in enumerate(value):
        try:
            found.append(one(item, f"/{name}/{index}"))
        except MethodProblem as problem:
            problems.append(problem)
    if problems:
        raise MethodProblem.of([field for problem in problems for field in problem.fields])
    return tuple(found)


def _outline(fields: Mapping[str, Any]) -> Outline:
    given = [name for name in SIZES if fields.get(name) is not None]
    if len(given) != 1:
        what = "is missing: give it, girth_cm or outline_cm" if not given else f"is given beside {given[0]}: give one"
        raise MethodProblem(f"/{given[1] if given else 'diameter_cm'}", what)
    bark = 0.0 if fields.get("bark_cm") is None else number(fields["bark_cm"], "/bark_cm", 0, 50)
    if given[0] == "outline_cm":
        return outlines.drawn(_ring(fields["outline_cm"], "/outline_cm"), bark)
    most = LARGEST_CM * (math.pi if given[0] == "girth_cm" else 1)
    size = _needed(fields, given[0], "", 0, most, above=True)
    return outlines.circle(size / math.pi if given[0] == "girth_cm" else size, bark)


def _ring(value: object, pointer: str) -> list[tuple[float, float]]:
    if isinstance(value, str | bytes) or not isinstance(value, Sequence):
        raise MethodProblem(pointer, "must be an array of [x, y]")
    if not 3 <= len(value) <= MOST_VERTICES:
        raise MethodProblem(pointer, f"has {len(value)} points; 3 to {MOST_VERTICES} make a ring")
    points = []
    for index, point in enumerate(value):
        if isinstance(point, str | bytes) or not isinstance(point, Sequence) or len(point) != 2:
            raise MethodProblem(f"{pointer}/{index}", "must be [x, y]")
        x, y = (number(point[k], f"{pointer}/{index}/{k}", -1e5, 1e5) for k in (0, 1))
        points.append((x, y))
    return points


def _void(value: object, pointer: str, outline: Outline) -> Polygon:
    polygon = Polygon(np.array(_ring(value, pointer)) - outline.centre_cm)
    if not polygon.is_valid or polygon.area <= 0:
        raise MethodProblem(pointer, "crosses or touches itself, or has no area")
    if shapely.intersection(polygon, outline.polygon).area <= 0:
        raise MethodProblem(pointer, "lies outside the stem")
    return shapely.orient_polygons(polygon)


def _reading(value: object, at: str) -> Reading:
    item = _object(value, at, ("azimuth_deg", "sound_wall_cm", "void_to_cm", "error_cm", "method"))
    wall = _needed(item, "sound_wall_cm", at, 0, 2 * LARGEST_CM)
    void_to = (
        None if item.get("void_to_cm") is None else number(item["void_to_cm"], f"{at}/void_to_cm", 0, 2 * LARGEST_CM)
    )
    if void_to is not None and void_to < wall:
        raise MethodProblem(f"{at}/void_to_cm", "lies before the sound wall ends")
    method = item.get("method")
    if method is not None and (not isinstance(method, str) or method not in _ERRORS):
        raise MethodProblem(f"{at}/method", f"is not one of {', '.join(_ERRORS)}")
    fixed, share = _ERRORS.get(method or "", (DEFAULT_ERROR_CM, 0.0))
    error = fixed + share * wall
    if item.get("error_cm") is not None:
        error = number(item["error_cm"], f"{at}/error_cm", 0, 100)
    return Reading(_needed(item, "azimuth_deg", at, 0, 360), wall, void_to, error)


def _opening(value: object, at: str) -> Opening:
    item = _object(value, at, ("azimuth_deg", "width_cm", "depth_cm"))
    depth = None
    if item.get("depth_cm") is not None:
        depth = number(item["depth_cm"], f"{at}/depth_cm", 0, LARGEST_CM, above=True)
    width = _needed(item, "width_cm", at, 0, LARGEST_CM, above=True)
    return Opening(_needed(item, "azimuth_deg", at, 0, 360), width, depth)


def _crack(value: object, at: str) -> Crack:
    item = _object(value, at, ("azimuth_deg", "gap_to_edge_cm", "inner_radius_cm"))
    azimuth = _needed(item, "azimuth_deg", at, 0, 360)
    gap = _needed(item, "gap_to_edge_cm", at, 0, LARGEST_CM)
    return Crack(azimuth, gap, _needed(item, "inner_radius_cm", at, 0, LARGEST_CM))


def _check_voids(section: Section) -> list[MethodProblem]:
    count = sum(len(void.exterior.coords) - 1 for void in section.voids)
    if count <= MOST_VOID_VERTICES:
        return []
    return [MethodProblem("/voids_cm", f"have {count} points in all; at most {MOST_VOID_VERTICES} are taken")]


def _check_readings(section: Section) -> list[MethodProblem]:
    seen: dict[float, int] = {}
    found = []
    azimuths = section.azimuths_deg
    through = section.outline.reach_cm(azimuths) + section.outline.reach_cm(azimuths + 180)
    for index, (reading, most) in enumerate(zip(section.readings, through.tolist(), strict=True)):
        azimuth, at = round(reading.azimuth_deg % 360, 6), f"/readings/{index}"
        if azimuth in seen:
            found.append(MethodProblem(f"{at}/azimuth_deg", f"is that of reading {seen[azimuth]} again"))
        seen.setdefault(azimuth, index)
        for name, value in (("sound_wall_cm", reading.sound_wall_cm), ("void_to_cm", reading.void_to_cm or 0.0)):
            if value > most * TOLERANCE:
                found.append(MethodProblem(f"{at}/{name}", f"is more than the stem is thick there ({most:.1f} cm)"))
    return found


def _check_openings(section: Section) -> list[MethodProblem]:
    found = []
    for index, opening in enumerate(section.openings):
        reach = float(section.outline.reach_cm(opening.azimuth_deg))
        if opening.width_cm >= 2 * reach:
            found.append(MethodProblem(f"/openings/{index}/width_cm", "is as wide as the stem or wider"))
        if opening.depth_cm is not None and opening.depth_cm > 2 * reach:
            found.append(MethodProblem(f"/openings/{index}/depth_cm", "is more than the stem is thick"))
    return found


def _check_cracks(section: Section) -> list[MethodProblem]:
    found = []
    for index, crack in enumerate(section.cracks):
        reach = float(section.outline.reach_cm(crack.azimuth_deg))
        if crack.gap_to_edge_cm >= reach:
            found.append(MethodProblem(f"/cracks/{index}/gap_to_edge_cm", "puts the crack outside the stem"))
        elif crack.inner_radius_cm >= reach - crack.gap_to_edge_cm:
            detail = "lies outside the stem" if crack.inner_radius_cm >= reach else "lies outside the crack's outer end"
            found.append(MethodProblem(f"/cracks/{index}/inner_radius_cm", detail))
    return found
