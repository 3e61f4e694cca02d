"""Sections: best estimates a second on one core, a general section library beside it, intervals, and their coverage.

Needs no database. The library (sectionproperties) is of the development packages; without it that line is left out.
"""

import math
import time
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
import shapely
from numpy.random import Generator

from assessments.methods.section import assess, circle, compute, many
from assessments.methods.section.readings import Reading, Section
from deploy.bench import cavities, report

COUNT: Final = 10_000
READINGS: Final = 32
DRAWS: Final = 500
RADII: Final = (4, 8, 12)
ERROR: Final = 0.02  # of R, standard deviation of a reading
BY_LIBRARY: Final = 10


def run(scale: int, as_json: bool) -> None:
    """Time `scale` best estimates, COUNT sections (or `scale`, if fewer) with intervals, and tell the coverage."""
    rng = np.random.default_rng(20261125)
    azimuths, radius, walls = _stems(max(scale, 1000), rng)
    report.say("best estimates")
    rate = _rate(radius, azimuths, walls)
    report.say("one by one: polygons, then a general section library")
    polygons = _one_by_one(radius, azimuths, walls)
    library = _by_library(radius, azimuths, walls)
    report.say("intervals")
    count = min(scale, COUNT)
    began, cpu = time.perf_counter(), time.process_time()
    many.intervals(radius[:count], azimuths, walls[:count], 1.0, DRAWS, 1)
    figures: dict[str, Any] = {
        "best_estimates_per_second": round(rate),
        "polygons_per_second": round(polygons, 1),
        "library_per_second": library and round(library, 2),
        "intervals": {
            "sections": count, "readings": READINGS, "draws": DRAWS,
            "seconds": round(time.perf_counter() - began, 2),
            "cpu_seconds": round(time.process_time() - cpu, 2),
            "peak_mib": report.peak_mib(),
        },
    }  # fmt: skip
    report.say("coverage")
    report.say("single requests")
    figures["cpu_seconds_of_one_request"] = {name: _request_seconds(asked) for name, asked in _requests().items()}
    kinds = {
        "coverage": cavities.FAMILIES,
        "coverage_held_out": cavities.HELD_OUT,
        "coverage_of_all_kinds": cavities.FAMILIES | cavities.HELD_OUT,
    }
    for name, families in kinds.items():
        figures[name] = [row for radii in RADII for row in coverage(radii, 300, 20261125, families)]
    report.finish("sections", len(radius), rate / library if library else rate / polygons, figures, as_json=as_json)


def _stems(count: int, rng: Generator) -> tuple[Any, Any, Any]:
    """Azimuths, radii in cm and walls in cm of round stems with invented cavities."""
    azimuths = np.arange(READINGS) * 360 / READINGS
    shapes = np.concatenate([cavities.invent(family, 100, rng) for family in cavities.FAMILIES])
    radius = rng.uniform(10, 60, count)
    cavity = shapes[rng.integers(len(shapes), size=count)]
    walls = 1 - cavity[:, np.round(azimuths).astype(int)]
    return azimuths, radius, np.maximum(walls + 0.02 * rng.standard_normal(walls.shape), 0.0) * radius[:, None]


def _rate(radius: Any, azimuths: Any, walls: Any) -> float:
    """Best estimates a second of processor time, the best of three: on one core, whatever else runs beside it."""
    many.best_estimates(radius[:100], azimuths, walls[:100])
    spent = []
    for _ in range(3):
        began = time.process_time()
        many.best_estimates(radius, azimuths, walls)
        spent.append(time.process_time() - began)
    return len(radius) / min(spent)


def _one_by_one(radius: Any, azimuths: Any, walls: Any) -> float:
    began = time.process_time()
    for i in range(30):
        readings = tuple(Reading(float(a), float(w)) for a, w in zip(azimuths, walls[i], strict=True))
        assess(Section(circle(2 * float(radius[i])), readings, draws=0))
    return 30 / (time.process_time() - began)


def _by_library(radius: Any, azimuths: Any, walls: Any) -> float | None:
    """The same best estimates by the library, one after another: mesh, properties, stress toward 36 azimuths."""
    try:
        from sectionproperties.analysis.section import Section as General
        from sectionproperties.pre.geometry import Geometry
    except ImportError:
        return None
    began = time.process_time()
    for i in range(BY_LIBRARY):
        turn = np.radians(np.arange(0, 360, 3))
        inner = np.interp(np.degrees(turn), azimuths, radius[i] - walls[i], period=360)
        edge = np.stack([np.sin(turn), np.cos(turn)], 1)
        wood = shapely.Polygon(edge * radius[i], [edge * np.maximum(inner, 0.01 * radius[i])[:, None]])
        section = General(Geometry(wood.buffer(0)).create_mesh(mesh_sizes=[wood.area], coarse=True))
        section.calculate_geometric_properties()
        for b in np.radians(np.arange(0, 180, 5)):
            section.calculate_stress(mxx=-math.cos(b), myy=math.sin(b)).get_stress()
    return BY_LIBRARY / (time.process_time() - began)


def coverage(radii: int, count: int, seed: int, families: Iterable[str] = cavities.FAMILIES) -> list[dict[str, Any]]:
    """How often the intervals hold the true loss at a number of radii: one row for each family, and all of them."""
    rng = np.random.default_rng((seed, radii))
    azimuths = np.arange(radii) * 360.0 / radii
    rows, all_held = [], []
    for family in families:
        shapes = cavities.invent(family, count, rng)
        read = 1 - shapes[:, np.round(azimuths).astype(int)] + ERROR * rng.standard_normal((count, radii))
        truth = many.best_estimates(np.ones(count), cavities.DEGREES, 1 - shapes).loss_percent
        best = many.best_estimates(np.ones(count), azimuths, np.maximum(read, 0)).loss_percent
        ends = many.intervals(np.ones(count), azimuths, np.maximum(read, 0), ERROR, 300, seed)
        held = np.stack([(ends[:, 1] <= truth) & (truth <= ends[:, 2]), (ends[:, 0] <= truth) & (truth <= ends[:, 3])])
        off, width = np.abs(best - truth), ends[:, 2] - ends[:, 1]
        all_held.append((held, off, width))
        rows.append(_row(radii, family, held, off, width))
    together = [np.concatenate([part[i] for part in all_held], axis=-1) for i in range(3)]
    return [*rows, _row(radii, "all", together[0], together[1], together[2])]


def _requests() -> dict[str, dict[str, Any]]:
    """Single requests as they come in: a plain one, a cracked and open one, the largest that are taken."""
    turn = np.linspace(0, 2 * np.pi, 1999, endpoint=False)
    reach = 40 * (1 + 0.1 * np.cos(3 * turn))
    even = [{"azimuth_deg": 45 * i, "sound_wall_cm": wall} for i, wall in enumerate((12, 18, 9, 15, 20, 11, 14, 8))]
    many = [{"azimuth_deg": i, "sound_wall_cm": 10 + 3 * math.sin(i / 20)} for i in range(360)]
    cracks = [{"azimuth_deg": 15 * i, "gap_to_edge_cm": 0, "inner_radius_cm": 20} for i in range(24)]
    openings = [{"azimuth_deg": 15 * i + 5, "width_cm": 1} for i in range(24)]
    outline = np.stack([reach * np.sin(turn), reach * np.cos(turn)], 1).tolist()
    return {
        "8 readings": {"diameter_cm": 80, "readings": even},
        "8 readings, a crack, an opening": {
            "diameter_cm": 80, "readings": even, "cracks": cracks[:1], "openings": openings[-1:],
        },
        "360 readings, 1000 draws": {"diameter_cm": 80, "readings": many, "draws": 1000},
        "the same with 1999 points, 24 cracks, 24 openings": {
            "outline_cm": outline, "readings": many, "draws": 1000, "cracks": cracks, "openings": openings,
        },
    }  # fmt: skip


def _request_seconds(asked: dict[str, Any]) -> float:
    began = time.process_time()
    compute(asked)
    return round(time.process_time() - began, 3)


def table(rows: Iterable[dict[str, Any]]) -> str:
    """Rows of `coverage` as text: how often held, error and width in points of loss, by radii and kind of cavity."""
    lines = [f"{'radii':>5}  {'cavities':<13}  {'80 %':>5}  {'95 %':>5}  {'error':>5}  {'width':>5}"]
    for row in rows:
        held = f"{row['held_80']:>5.2f}  {row['held_95']:>5.2f}"
        size = f"{row['mean_error_points']:>5.2f}  {row['mean_width_80_points']:>5.2f}"
        lines.append(f"{row['radii']:>5}  {row['cavities']:<13}  {held}  {size}")
    return "\n".join(lines)


def _row(radii: int, family: str, held: Any, off: Any, width: Any) -> dict[str, Any]:
    return {
        "radii": radii,
        "cavities": family,
        "held_80": round(float(held[0].mean()), 3),
        "held_95": round(float(held[1].mean()), 3),
        "mean_error_points": round(float(off.mean()), 2),
        "largest_error_points": round(float(off.max()), 1),
        "mean_width_80_points": round(float(width.mean()), 2),
    }
