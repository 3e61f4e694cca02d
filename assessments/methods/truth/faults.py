"""What the outside signs missed or invented: cracks and decay columns found against those that signs told of."""

from dataclasses import dataclass
from typing import Final

from assessments.methods.dissection import Column, Rebuilt, Track
from assessments.methods.dissection.tracks import turned
from assessments.methods.section.along_stem import Stem

from .predicted import Predicted
from .signs import CRACK_SIGNS, DECAY_SIGNS, NEAR_M, Sign, signs

METHOD: Final = "signs_against_found"
VERSION: Final = 1

# A sign and a crack this near in azimuth are the same: a seam may lie beside its crack. Project's choice.
NEAR_DEG: Final = 30.0
STATUSES: Final = ("matched", "missed", "invented", "not_opened")


@dataclass(frozen=True)
class Told:
    """A crack or a hollow that was predicted: what told of it, over which heights, at which azimuth."""

    kind: str
    from_m: float
    to_m: float
    azimuth_deg: float | None
    depth_cm: float | None = None


@dataclass(frozen=True)
class CrackTruth:
    """One crack. missed: found without a sign; invented: a sign without a crack; not_opened: no cut lies there."""

    status: str
    told: Told | None
    track: Track | None

    @property
    def turn_deg(self) -> float | None:
        """How far the crack lies clockwise of its sign, where it comes nearest."""
        if self.told is None or self.track is None or self.told.azimuth_deg is None:
            return None
        from_deg = self.told.azimuth_deg
        return min((turned(from_deg, seen.azimuth_deg) for seen in self.track.seen), key=abs)


@dataclass(frozen=True)
class DecayTruth:
    """One sign of decay, or a found column without any."""

    status: str
    told: Told | None
    column: Column | None


def crack_truths(rebuilt: Rebuilt, told: Predicted, stem: Stem | None) -> tuple[CrackTruth, ...]:
    """Match found cracks with those told by seams, cracks outside and measured sections; each pair once."""
    expected = _expected_cracks(told, stem)
    pairs = sorted(
        (CrackTruth("matched", one, track).turn_deg or 0.0, number, place)
        for number, one in enumerate(expected)
        for place, track in enumerate(rebuilt.tracks)
        if _meets(one, track)
    )
    pairs.sort(key=lambda pair: (abs(pair[0]), pair[1:]))
    used: dict[int, int] = {}
    for _, number, place in pairs:
        if number not in used and place not in used.values():
            used[number] = place
    # A further sign of a crack that another sign has already told of invents nothing.
    also = {number for _, number, _ in pairs}
    found = [CrackTruth("matched", expected[number], rebuilt.tracks[place]) for number, place in used.items()]
    found += [CrackTruth("missed", None, t) for place, t in enumerate(rebuilt.tracks) if place not in used.values()]
    found += [
        CrackTruth("invented" if _opened(rebuilt, one) else "not_opened", one, None)
        for number, one in enumerate(expected)
        if number not in also
    ]
    return tuple(found)


def _expected_cracks(told: Predicted, stem: Stem | None) -> list[Told]:
    by_signs = [_told(sign) for sign in signs(told.findings, CRACK_SIGNS)]
    return by_signs + ([] if stem is None else _of_sections(stem))


def _of_sections(stem: Stem) -> list[Told]:
    found = []
    for crack, bottom, top in zip(stem.cracks, stem.crack_bottoms, stem.crack_tops, strict=True):
        seen = next(level for level in stem.levels if crack in level.answer.section.cracks)
        depth = float(seen.answer.section.outline.reach_cm(crack.azimuth_deg)) - crack.inner_radius_cm
        found.append(Told("section", bottom.best_m, top.best_m, crack.azimuth_deg, depth))
    return found


def _told(sign: Sign) -> Told:
    return Told(sign.kind, sign.from_m, sign.to_m, sign.azimuth_deg)


def _meets(one: Told, track: Track) -> bool:
    apart = CrackTruth("matched", one, track).turn_deg
    level = one.from_m - NEAR_M <= track.top.best_m and track.bottom.best_m <= one.to_m + NEAR_M
    return level and (apart is None or abs(apart) <= NEAR_DEG)


def _opened(rebuilt: Rebuilt, one: Told) -> bool:
    return any(one.from_m - NEAR_M <= face.cut.height_m <= one.to_m + NEAR_M for face in rebuilt.faces)


def decay_truths(rebuilt: Rebuilt, told: Predicted, stem: Stem | None) -> tuple[DecayTruth, ...]:
    """Match signs of decay, and hollow sections, with found columns; several signs may tell of one column."""
    expected = [_told(sign) for sign in signs(told.findings, DECAY_SIGNS)]
    expected += _hollow_sections(stem)
    found: list[DecayTruth] = []
    seen: set[int] = set()
    for one in expected:
        near = [place for place, column in enumerate(rebuilt.columns) if _spans(one, column)]
        if near:
            seen.update(near)
            found.append(DecayTruth("matched", one, rebuilt.columns[near[0]]))
        else:
            found.append(DecayTruth("invented" if _opened(rebuilt, one) else "not_opened", one, None))
    found += [DecayTruth("missed", None, column) for place, column in enumerate(rebuilt.columns) if place not in seen]
    return tuple(found)


def _hollow_sections(stem: Stem | None) -> list[Told]:
    return [
        Told("section", level.height_m, level.height_m, None)
        for level in (() if stem is None else stem.levels)
        if level.basis == "measured" and not level.answer.residual.decay.is_empty
    ]


def _spans(one: Told, column: Column) -> bool:
    return one.from_m - NEAR_M <= column.top.best_m and column.bottom.best_m <= one.to_m + NEAR_M
