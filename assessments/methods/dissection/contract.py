"""The JSON request of a dissection, read strictly: cuts up the stem with what was found on each face."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from shapely import Polygon, affinity

from assessments.methods.problems import MethodProblem, WrongField
from assessments.methods.request import Fields, beneath
from assessments.methods.section import Section
from assessments.methods.section import read as read_section

from .voids import ellipse, ring

METHOD: Final = "dissection_request"
VERSION: Final = 1

FIELDS: Final = ("species", "green_density_kg_m3", "stump_height_m", "cuts", "weighed")
CUT_FIELDS: Final = (
    "uid", "height_m", "above_last_cm", "diameter_cm", "diameter2_cm", "diameter_azimuth_deg", "girth_cm", "outline_cm",
    "bark_cm", "decay", "cavities", "openings", "cracks", "insects", "roots_inside", "note",
)  # fmt: skip
SIZES: Final = ("diameter_cm", "girth_cm", "outline_cm")
MOST_CUTS: Final = 60
MOST_VOIDS: Final = 12
PARTS: Final = ("decay", "cavities", "openings", "cracks")
# Over all cuts: so much is computed in a second or two.
MOST_PARTS: Final = 300
MOST_POINTS: Final = 12_000
MOST_WEIGHED: Final = 60
TALLEST_M: Final = 120.0
LARGEST_CM: Final = 2000.0
# Two cuts this close are one.
LEAST_APART_M: Final = 0.005


@dataclass(frozen=True)
class Cut:
    """One cut face. `section` holds it as found, voids and all; `decay` and `cavities` in the section's coordinates.

    `over_bark_cm`: diameter of the circle of the face's area over bark.
    """

    uid: str
    section: Section
    over_bark_cm: float
    decay: tuple[Polygon, ...]
    cavities: tuple[Polygon, ...]
    insects: bool
    roots_inside: bool
    note: str

    @property
    def height_m(self) -> float:
        """Height above ground."""
        return self.section.height_m or 0.0


@dataclass(frozen=True)
class Weighed:
    """A piece of the stem between two heights (m) that was put on a scale (kg)."""

    from_m: float
    to_m: float
    mass_kg: float


@dataclass(frozen=True)
class Request:
    """A dissection: its cuts from below, and what the masses need."""

    cuts: tuple[Cut, ...]
    weighed: tuple[Weighed, ...] = ()
    species: str | None = None
    green_density_kg_m3: float | None = None


def read(request: object) -> Request:
    """Read a request. Raises MethodProblem that names the wrong fields.

    >>> cuts = [{"height_m": 0.3, "diameter_cm": 52}, {"above_last_cm": 15, "diameter_cm": 50}]
    >>> [cut.height_m for cut in read({"cuts": cuts}).cuts]
    [0.3, 0.45]
    """
    fields = Fields(request, "", FIELDS)
    stump = fields.maybe("stump_height_m", 0, 5) or 0.0
    heights = _heights(fields, stump)
    _bound(fields.raw("cuts"))
    place = iter(heights)
    cuts = fields.items("cuts", MOST_CUTS, lambda value, at: _cut(value, at, next(place)), least=1)
    ordered = tuple(sorted(cuts, key=lambda cut: cut.height_m))
    return Request(
        ordered,
        fields.items("weighed", MOST_WEIGHED, lambda value, at: _weighed(value, at, ordered)),
        fields.text("species", 200) if fields.has("species") else None,
        fields.maybe("green_density_kg_m3", 100, 2000),
    )


def check_cut(value: object, pointer: str = "") -> None:
    """Check one cut by itself, as it arrives. Raises MethodProblem with pointers beneath `pointer`."""
    item = Fields(value, pointer, CUT_FIELDS)
    _cut(value, pointer, _height(item, 0.0))


def _heights(fields: Fields, stump_m: float) -> list[float]:
    """Heights of the cuts in the order given. Raises MethodProblem for two at one height."""
    last = stump_m

    def one(value: object, at: str) -> float:
        nonlocal last
        last = _height(Fields(value, at, CUT_FIELDS), last)
        return last

    found = fields.items("cuts", MOST_CUTS, one, least=1)
    order = np.argsort(found, kind="stable")
    for lower, upper in zip(order[:-1].tolist(), order[1:].tolist(), strict=True):
        if found[upper] - found[lower] < LEAST_APART_M:
            name = "height_m" if fields.raw("cuts")[upper].get("height_m") is not None else "above_last_cm"
            raise MethodProblem(f"/cuts/{upper}/{name}", f"puts it at the height of cut {lower}")
    return list(found)


def _bound(cuts: Sequence[Mapping[str, Any]]) -> None:
    """Refuse more than is computed while someone waits. Raises MethodProblem."""
    parts = points = 0
    for cut in cuts:
        lists = [cut[name] for name in PARTS if isinstance(cut.get(name), list | tuple)]
        rings = [one.get("polygon_cm") for of in lists for one in of if isinstance(one, Mapping)]
        parts += sum(len(of) for of in lists)
        points += sum(len(ring) for ring in (*rings, cut.get("outline_cm")) if isinstance(ring, list | tuple))
    for count, most, what in ((parts, MOST_PARTS, "voids, openings and cracks"), (points, MOST_POINTS, "drawn points")):
        if count > most:
            raise MethodProblem("/cuts", f"hold {count} {what} in all; at most {most} are taken")


def _height(item: Fields, last_m: float) -> float:
    if item.has("height_m") == item.has("above_last_cm"):
        what = (
            "is given beside above_last_cm: give one"
            if item.has("height_m")
            else "is missing: give it or above_last_cm"
        )
        raise item.wrong("height_m", what)
    if item.has("height_m"):
        return item.number("height_m", 0, TALLEST_M)
    height = last_m + item.number("above_last_cm", 0, TALLEST_M * 100, above=True) / 100
    if height > TALLEST_M:
        raise item.wrong("above_last_cm", f"puts the cut above {TALLEST_M:g} m")
    return round(height, 6)


def _cut(value: object, at: str, height_m: float) -> Cut:
    item = Fields(value, at, CUT_FIELDS)
    face = _face(item)
    try:
        outline = read_section({**face, "draws": 0}).outline
    except MethodProblem as problem:
        raise beneath(at, problem) from problem
    decay, cavities = (
        item.items(name, MOST_VOIDS, lambda one, pointer: ring(one, pointer, outline)) for name in ("decay", "cavities")
    )
    bare = Section(outline)
    whole = face | {
        "voids_cm": [*decay, *cavities],
        "openings": item.raw("openings"),
        "cracks": list(item.items("cracks", 24, lambda one, pointer: _crack(one, pointer, bare))),
        "height_m": height_m,
        "draws": 0,
    }
    try:
        section = read_section(whole)
    except MethodProblem as problem:
        raise _named(at, problem, len(decay)) from problem
    radius = outline.radius_cm + (item.maybe("bark_cm", 0, 50) or 0.0)
    return Cut(
        uid=item.text("uid") if item.has("uid") else "",
        section=section,
        over_bark_cm=2 * radius,
        decay=section.voids[: len(decay)],
        cavities=section.voids[len(decay) :],
        insects=item.flag("insects") if item.has("insects") else False,
        roots_inside=item.flag("roots_inside") if item.has("roots_inside") else False,
        note=item.text("note", 500) if item.has("note") else "",
    )


def _face(item: Fields) -> dict[str, Any]:
    """The size of a face as a section request; two diameters make an ellipse."""
    given = [name for name in SIZES if item.has(name)]
    if len(given) != 1:
        what = "is missing: give it, girth_cm or outline_cm" if not given else f"is given beside {given[0]}: give one"
        raise item.wrong(given[1] if given else "diameter_cm", what)
    bark = {"bark_cm": item.raw("bark_cm")}
    for name in ("diameter2_cm", "diameter_azimuth_deg"):
        if item.has(name) and given[0] != "diameter_cm":
            raise item.wrong(name, "goes with diameter_cm only")
    if not item.has("diameter2_cm"):
        return {given[0]: item.raw(given[0]), **bark}
    first, second = (item.number(name, 0, LARGEST_CM, above=True) for name in ("diameter_cm", "diameter2_cm"))
    azimuth = item.maybe("diameter_azimuth_deg", 0, 360) or 0.0
    turned = affinity.rotate(ellipse(second, first), -azimuth, origin=(0, 0))
    return {"outline_cm": shapely.get_coordinates(turned.exterior)[:-1].tolist(), **bark}


def _crack(value: object, at: str, bare: Section) -> dict[str, float]:
    item = Fields(value, at, ("azimuth_deg", "gap_to_edge_cm", "run_cm"))
    azimuth, gap = item.number("azimuth_deg", 0, 360), item.maybe("gap_to_edge_cm", 0, LARGEST_CM) or 0.0
    run = item.number("run_cm", 0, LARGEST_CM, above=True)
    reach = float(bare.outline.reach_cm(azimuth))
    if gap >= reach:
        raise item.wrong("gap_to_edge_cm", f"puts the crack outside the stem ({reach:.1f} cm from edge to centre)")
    if run > (reach - gap) * (1 + 1e-6):
        raise item.wrong(
            "run_cm", f"runs past the centre ({reach - gap:.1f} cm away): give its far side as a second crack"
        )
    return {"azimuth_deg": azimuth, "gap_to_edge_cm": gap, "inner_radius_cm": max(reach - gap - run, 0.0)}


def _named(at: str, problem: MethodProblem, decayed: int) -> MethodProblem:
    """Say a section's problem in the words of a cut."""
    found = []
    for field in problem.fields:
        parts = field.pointer.split("/")
        if parts[1:2] == ["voids_cm"] and len(parts) > 2:
            place = int(parts[2])
            name = f"decay/{place}" if place < decayed else f"cavities/{place - decayed}"
            parts = ["", *name.split("/"), "polygon_cm", *parts[3:]]
        elif parts[1:2] == ["voids_cm"]:
            parts = ["", "cavities"]
        found.append(WrongField(at + "/".join(parts), field.detail))
    return MethodProblem.of(found)


def _weighed(value: object, at: str, cuts: Sequence[Cut]) -> Weighed:
    item = Fields(value, at, ("from_m", "to_m", "mass_kg"))
    low, high = item.number("from_m", 0, TALLEST_M), item.number("to_m", 0, TALLEST_M, above=True)
    if high <= low:
        raise item.wrong("to_m", "must be more than from_m")
    for name, height in (("from_m", low), ("to_m", high)):
        if not cuts[0].height_m - 1e-6 <= height <= cuts[-1].height_m + 1e-6:
            raise item.wrong(name, f"lies outside the cuts, {cuts[0].height_m:g} to {cuts[-1].height_m:g} m")
    return Weighed(low, high, item.number("mass_kg", 0, 1e6, above=True))


def area_cm2(parts: Sequence[Polygon], outline: Polygon) -> float:
    """Area of several voids together, inside a face."""
    return float(shapely.intersection(shapely.union_all(list(parts)), outline).area) if parts else 0.0


def circle_cm(area: float) -> float:
    """Radius of the circle of an area."""
    return math.sqrt(area / math.pi)
