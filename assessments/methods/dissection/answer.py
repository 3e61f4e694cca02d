"""Rebuilds a felled stem from its cuts: each face as a section, cracks and columns along the height, masses."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from assessments.methods.problems import MethodProblem, WrongField
from assessments.methods.section import Answer, assess
from assessments.methods.section.along_stem import Reach, Stem, along
from assessments.methods.section.answer import as_json as section_json

from .columns import Column, columns
from .contract import Cut, Request, area_cm2
from .masses import Mass, Masses, masses
from .tracks import Track, tracks

METHOD: Final = "stem_rebuilt_from_cuts"
VERSION: Final = 1

NOTES: Final = (
    "What lies between two cuts nobody has seen: it is taken to change evenly.",
    "Decay is what the eye and a probe told from sound wood on the cut face; early decay is not seen so.",
)


@dataclass(frozen=True)
class Face:
    """A cut with its computed section; areas in cm2 under bark, decay without what is cavity."""

    cut: Cut
    answer: Answer
    decay_cm2: float
    cavity_cm2: float

    @property
    def hollow(self) -> bool:
        """Whether anything is missing or decayed on this face."""
        return not self.answer.residual.decay.is_empty or bool(self.cut.section.openings)


@dataclass(frozen=True)
class Rebuilt:
    """A stem rebuilt from below: its faces, cracks (deepest first), columns, masses or why there are none, `stem`.

    `stem` is the same as of measured sections, for the profile picture.
    """

    faces: tuple[Face, ...]
    tracks: tuple[Track, ...]
    columns: tuple[Column, ...]
    masses: Masses | None
    stem: Stem
    notes: tuple[str, ...]


def rebuild(request: Request) -> Rebuilt:
    """Rebuild a stem. Raises MethodProblem where a cut leaves no sound wood or the species is unknown.

    >>> from .contract import read
    >>> cuts = [{"height_m": h, "diameter_cm": 50, "cavities": [{"share_percent": 25}]} for h in (0.3, 0.5)]
    >>> round(rebuild(read({"cuts": cuts})).faces[0].answer.t_over_r, 2)
    0.5
    """
    faces = tuple(_face(cut, place) for place, cut in enumerate(request.cuts))
    weight = masses(request)
    said = (weight,) if isinstance(weight, str) else ()
    return Rebuilt(
        faces=faces,
        tracks=tracks(request.cuts),
        columns=columns(request.cuts),
        masses=None if isinstance(weight, str) else weight,
        stem=along([cut.section for cut in request.cuts], []),
        notes=(*said, *NOTES),
    )


def _face(cut: Cut, place: int) -> Face:
    try:
        answer = assess(cut.section)
    except MethodProblem as problem:
        named = (field.pointer.replace("/voids_cm", "/cavities") for field in problem.fields)
        raise MethodProblem.of(
            WrongField(f"/cuts/{place}{pointer}", field.detail)
            for pointer, field in zip(named, problem.fields, strict=True)
        ) from problem
    outline = cut.section.outline.polygon
    cavity = area_cm2(cut.cavities, outline)
    return Face(cut, answer, area_cm2((*cut.decay, *cut.cavities), outline) - cavity, cavity)


def as_json(rebuilt: Rebuilt) -> dict[str, Any]:
    """Say a rebuilt stem in the contract's words."""
    return {
        "cuts": [_cut(face) for face in rebuilt.faces],
        "cracks": [_track(track) for track in rebuilt.tracks],
        "columns": [_rounded(asdict(column)) for column in rebuilt.columns],
        "masses": None if rebuilt.masses is None else _masses(rebuilt.masses),
        "notes": list(rebuilt.notes),
        "method": METHOD,
        "version": VERSION,
    }


def _cut(face: Face) -> dict[str, Any]:
    told = section_json(face.answer)
    kept = (
        "gross_area_cm2", "sound_area_cm2", "thinnest_wall_cm", "t_over_r", "open", "pieces", "modulus", "largest_loss",
        "compression_azimuth_deg", "torsional_stiffness_ratio", "rules",
    )  # fmt: skip
    return {
        "uid": face.cut.uid or None,
        "height_m": round(face.cut.height_m, 4),
        "over_bark_cm": round(face.cut.over_bark_cm, 2),
        "decay_cm2": round(face.decay_cm2, 2),
        "cavity_cm2": round(face.cavity_cm2, 2),
        "insects": face.cut.insects,
        "roots_inside": face.cut.roots_inside,
        "note": face.cut.note or None,
        **{name: told[name] for name in kept},
        "loss_percent": told["modulus"]["loss_percent"]["best_estimate"],
    }


def _track(track: Track) -> dict[str, Any]:
    return {
        "seen": [
            {name: value for name, value in _rounded(asdict(one)).items() if name != "place"}
            | {"depth_cm": round(one.depth_cm, 2)}
            for one in track.seen
        ],
        **{name: _reach(getattr(track, name)) for name in ("bottom", "top")},
        "bottom_beyond": track.bottom_beyond,
        "top_beyond": track.top_beyond,
        "taper_cm_per_m": _maybe(track.taper_cm_per_m),
        "turn_deg_per_m": _maybe(track.turn_deg_per_m),
        "reaches_surface": track.reaches_surface,
    }


def _masses(found: Masses) -> dict[str, Any]:
    return {
        "green_density_kg_m3": round(found.density_kg_m3, 1),
        "whole": _mass(found.whole),
        "pieces": [_mass(piece) for piece in found.pieces],
        "notes": list(found.notes),
    }


def _mass(mass: Mass) -> dict[str, Any]:
    return _rounded(asdict(mass)) | {"error_percent": _maybe(mass.error_percent)}


def _reach(reach: Reach) -> dict[str, float]:
    return {name: round(value, 3) for name, value in asdict(reach).items()}


def _maybe(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _rounded(values: dict[str, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, value in values.items():
        out[name] = (
            _rounded(value) if isinstance(value, dict) else round(value, 4) if isinstance(value, float) else value
        )
    return out
