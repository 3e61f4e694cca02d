"""Outside signs of a finding list: which tell of decay or of a crack, over which heights, and which one leads."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from assessments.methods.decay_growth.choices import walling_of
from assessments.methods.findings import Finding, TreeFacts

METHOD: Final = "outside_signs_by_height"
VERSION: Final = 1

# The most telling first: where several are near, the first one leads. Project's choice.
DECAY_SIGNS: Final = ("cavity", "fruiting_body", "decay", "canker", "wound", "insect_sign")
CRACK_SIGNS: Final = ("crack", "seam", "previous_split")
STEM: Final = ("stem", "root_collar")
# How far above and below its own extent a sign still speaks: project's choice.
NEAR_M: Final = 0.25
_EXTENTS_CM: Final = ("length_cm", "opening_height_cm", "height_cm")


@dataclass(frozen=True)
class Sign:
    """A sign on the stem over heights in m; `place` is that of its finding."""

    place: int
    kind: str
    from_m: float
    to_m: float
    azimuth_deg: float | None
    finding: Finding

    def near(self, height_m: float) -> bool:
        """Whether it speaks of a height."""
        return self.from_m - NEAR_M - 1e-9 <= height_m <= self.to_m + NEAR_M + 1e-9

    def overlaps(self, from_m: float, to_m: float) -> bool:
        """Whether it speaks of any of a stretch."""
        return self.from_m - NEAR_M <= to_m and from_m <= self.to_m + NEAR_M


def signs(findings: Sequence[Finding], kinds: Sequence[str]) -> tuple[Sign, ...]:
    """Give the signs of some kinds on stem and root collar that have a height; a root collar without one is at 0.

    >>> [(s.from_m, s.to_m) for s in signs([Finding("seam", "stem", None, 1.5, 90, {"length_cm": 100})], CRACK_SIGNS)]
    [(1.0, 2.0)]
    """
    found = []
    for place, finding in enumerate(findings):
        height = 0.0 if finding.height_m is None and finding.part == "root_collar" else finding.height_m
        if finding.kind not in kinds or finding.part not in STEM or height is None:
            continue
        half = max((float(finding.measures[n]) for n in _EXTENTS_CM if n in finding.measures), default=0.0) / 200
        azimuth = finding.azimuth_deg
        found.append(Sign(place, finding.kind, max(height - half, 0.0), height + half, azimuth, finding))
    return tuple(found)


def leading(findings: Sequence[Finding], height_m: float) -> Sign | None:
    """Give the most telling sign near a height, or None."""
    order = (*DECAY_SIGNS, *CRACK_SIGNS)
    near = [sign for sign in signs(findings, order) if sign.near(height_m)]
    return min(near, key=lambda sign: (order.index(sign.kind), sign.place), default=None)


def wall_fraction(sign: Sign, tree: TreeFacts) -> float | None:
    """Give the sound-wall fraction that a sign's own measures state, or None: its shell over the radius of its part."""
    shell, diameter = sign.finding.measures.get("shell_cm"), sign.finding.part_diameter_cm or tree.dbh_cm
    if shell is None or not diameter:
        return None
    return min(float(shell) / (diameter / 2), 1.0)


def species_group(botanical_name: str | None) -> str:
    """Give the group that calibration shares between species: how well it walls off decay.

    >>> species_group("Tilia cordata"), species_group("Ginkgo biloba"), species_group(None)
    ('strong_walling', 'unlisted', 'unlisted')
    """
    walling = walling_of(botanical_name) if botanical_name else None
    return f"{walling}_walling" if walling else "unlisted"
