"""A whole stem as JSON: several section requests with their heights in, every level and the run-out ends out."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from assessments.methods.problems import MethodProblem, WrongField, number

from .along_stem import METHOD, VERSION, along
from .answer import as_json
from .contract import read
from .readings import Section

MOST_SECTIONS: Final = 12
MOST_HEIGHTS: Final = 40


def compute_stem(request: dict[str, Any]) -> dict[str, Any]:
    """Compute `{"sections": [section requests with height_m], "heights_m": [..]}`. Raises MethodProblem.

    >>> stem = compute_stem({"sections": [{"diameter_cm": 40, "height_m": 1}], "heights_m": [2]})
    >>> [(level["height_m"], level["basis"]) for level in stem["levels"]]
    [(1.0, 'measured'), (2.0, 'beyond')]
    """
    if not isinstance(request, Mapping):
        raise MethodProblem("", "must be an object")
    items = _list(request, "sections", MOST_SECTIONS)
    sections = [_section(item, index) for index, item in enumerate(items)]
    heights = _list(request, "heights_m", MOST_HEIGHTS)
    stem = along(sections, [number(h, f"/heights_m/{i}", 0, 150) for i, h in enumerate(heights)])
    return {
        "levels": [
            {"basis": level.basis, **as_json(level.answer), "height_m": level.height_m} for level in stem.levels
        ],
        "column_bottom": asdict(stem.column_bottom) if stem.column_bottom else None,
        "column_top": asdict(stem.column_top) if stem.column_top else None,
        "cracks": [
            {"azimuth_deg": crack.azimuth_deg, "bottom": asdict(low), "top": asdict(high)}
            for crack, low, high in zip(stem.cracks, stem.crack_bottoms, stem.crack_tops, strict=True)
        ],
        "notes": list(stem.notes),
        "method": METHOD,
        "version": VERSION,
    }


def _list(request: Mapping[str, Any], name: str, most: int) -> Sequence[Any]:
    value = request.get(name, [])
    if isinstance(value, str | bytes) or not isinstance(value, Sequence):
        raise MethodProblem(f"/{name}", "must be an array")
    if len(value) > most:
        raise MethodProblem(f"/{name}", f"has {len(value)} items; at most {most} are taken")
    return value


def _section(item: object, index: int) -> Section:
    try:
        return read(item)
    except MethodProblem as problem:
        at = f"/sections/{index}"
        raise MethodProblem.of(WrongField(at + field.pointer, field.detail) for field in problem.fields) from problem
