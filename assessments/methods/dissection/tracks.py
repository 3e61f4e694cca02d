"""Cracks joined from cut to cut by azimuth: their run-out, taper and turn along the stem."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from assessments.methods.section.along_stem import CRACK_RUN_OUT, Reach

from .contract import Cut

METHOD: Final = "cracks_joined_by_azimuth"
VERSION: Final = 1

# Cracks this near in azimuth on neighbouring cuts are one; a crack may be missed on one cut between. Project's choice.
NEAR_DEG: Final = 25.0
MOST_MISSED: Final = 1


@dataclass(frozen=True)
class Seen:
    """A crack on one cut: `gap_cm` from the edge to its outer tip, `run_cm` its radial length."""

    place: int
    height_m: float
    azimuth_deg: float
    gap_cm: float
    run_cm: float

    @property
    def depth_cm(self) -> float:
        """Depth of the inner tip below the surface."""
        return self.gap_cm + self.run_cm


@dataclass(frozen=True)
class Track:
    """One crack along the stem. Ends: `low` nearest to where it was last seen, `high` farthest; heights in m.

    `taper_cm_per_m`: change of the run for each metre upward; `turn_deg_per_m`: of the azimuth, positive clockwise
    (seen from above); None with one sighting. `*_beyond`: the end lies beyond the outermost cut, so it is a guess.
    """

    seen: tuple[Seen, ...]
    bottom: Reach
    top: Reach
    bottom_beyond: bool
    top_beyond: bool
    taper_cm_per_m: float | None
    turn_deg_per_m: float | None

    @property
    def deepest(self) -> Seen:
        """The sighting with the deepest inner tip."""
        return max(self.seen, key=lambda one: one.depth_cm)

    @property
    def reaches_surface(self) -> bool:
        """Whether it is open to the surface anywhere."""
        return any(one.gap_cm == 0 for one in self.seen)


def turned(from_deg: float, to_deg: float) -> float:
    """Give the shorter way between two azimuths, positive clockwise.

    >>> turned(350.0, 10.0), turned(10.0, 350.0)
    (20.0, -20.0)
    """
    return (to_deg - from_deg + 180) % 360 - 180


def tracks(cuts: Sequence[Cut]) -> tuple[Track, ...]:
    """Join the cracks of cuts that are ordered from below; deepest first."""
    open_: list[list[Seen]] = []
    for place, cut in enumerate(cuts):
        _extend(open_, place, _on(place, cut))
    heights = [cut.height_m for cut in cuts]
    found = [_track(tuple(seen), heights) for seen in open_]
    return tuple(sorted(found, key=lambda track: -track.deepest.depth_cm))


def _on(place: int, cut: Cut) -> list[Seen]:
    found = []
    for crack in cut.section.cracks:
        run = float(cut.section.outline.reach_cm(crack.azimuth_deg)) - crack.gap_to_edge_cm - crack.inner_radius_cm
        found.append(Seen(place, cut.height_m, crack.azimuth_deg % 360, crack.gap_to_edge_cm, run))
    return found


def _extend(open_: list[list[Seen]], place: int, found: list[Seen]) -> None:
    """Add the cracks of a cut to the nearest tracks, each to one, the nearest pairs first; the rest begin tracks."""
    pairs = sorted(
        (abs(turned(track[-1].azimuth_deg, one.azimuth_deg)), number, which)
        for number, track in enumerate(open_)
        if track[-1].place >= place - 1 - MOST_MISSED
        for which, one in enumerate(found)
    )
    joined: set[int] = set()
    taken: set[int] = set()
    for apart, number, which in pairs:
        if apart <= NEAR_DEG and number not in joined and which not in taken:
            open_[number].append(found[which])
            joined.add(number)
            taken.add(which)
    open_ += [[one] for which, one in enumerate(found) if which not in taken]


def _track(seen: tuple[Seen, ...], heights: Sequence[float]) -> Track:
    ends = [_end(seen if up else seen[::-1], heights if up else heights[::-1], up) for up in (False, True)]
    taper = turn = None
    if len(seen) > 1:
        at = np.array([one.height_m for one in seen])
        azimuth = np.unwrap([one.azimuth_deg for one in seen], period=360)
        taper = float(np.polyfit(at, [one.run_cm for one in seen], 1)[0])
        turn = float(np.polyfit(at, azimuth, 1)[0])
    return Track(seen, ends[0][0], ends[1][0], ends[0][1], ends[1][1], taper, turn)


def _end(seen: Sequence[Seen], heights: Sequence[float], up: bool) -> tuple[Reach, bool]:
    """End of a crack past its last sighting, and whether that lies beyond the outermost cut."""
    last = seen[-1]
    narrowing = None
    if len(seen) > 1:
        narrowing = (seen[-2].run_cm - last.run_cm) / abs(last.height_m - seen[-2].height_m)
    following = [height for height in heights if (height > last.height_m) == up and height != last.height_m]
    lengths_cm = tuple(last.run_cm * factor for factor in CRACK_RUN_OUT)
    return run_out(last.height_m, last.run_cm, narrowing, lengths_cm, following[0] if following else None, up)


def run_out(
    height_m: float,
    size_cm: float,
    narrowing_cm_per_m: float | None,
    lengths_cm: tuple[float, ...],
    next_m: float | None,
    up: bool,
) -> tuple[Reach, bool]:
    """Where something last seen with a size ends: before the next cut, which lacks it, else within default lengths."""
    trend = size_cm / narrowing_cm_per_m if narrowing_cm_per_m and narrowing_cm_per_m > 0 else None
    if next_m is not None:
        gap = abs(next_m - height_m)
        low, high, best = 0.0, gap, gap / 2 if trend is None else min(trend, gap)
    else:
        low, best, high = (length / 100 for length in lengths_cm)
        best = best if trend is None else min(max(trend, low), high)
    sign = 1 if up else -1
    ends = [max(height_m + sign * length, 0.0) for length in (low, best, high)]
    return Reach(*ends), next_m is None
