"""Bending of a residual section between full composite action of its pieces and none."""

from dataclasses import dataclass
from typing import Final

from shapely import Polygon

from .cracks import Slit, pieces
from .integrals import Shape, shape_of
from .modulus import Bending, Worst, apart, losses, whole
from .voids import Residual

METHOD: Final = "composite_bounds"
VERSION: Final = 1


@dataclass(frozen=True)
class Bounds:
    """The wood as one body; its pieces as cracked; its pieces if every loose crack tip ran on to edge or void."""

    shape: Shape
    pieces: list[Polygon]
    run_on: list[Polygon]

    @property
    def full(self) -> Bending:
        """All pieces act as one body."""
        return whole(self.shape)

    @property
    def none(self) -> Bending:
        """The pieces of the run-on cracks bend by themselves, with one curvature."""
        return self.full if len(self.run_on) < 2 else apart([shape_of(piece) for piece in self.run_on])

    @property
    def parted(self) -> bool:
        """Whether the section is in two pieces or more as it is."""
        return len(self.pieces) > 1

    @property
    def reported(self) -> Bending:
        """What the answer's modulus is of: the whole body, or the pieces by themselves once they are parted."""
        return self.none if self.parted else self.full


def bounds(found: Residual, cracks: list[Slit]) -> Bounds:
    """Part the wood by its cracks, as they are and as they may run on."""
    now = pieces(found.wood, cracks)
    if not cracks:
        return Bounds(shape_of(found.wood), now, now)
    return Bounds(shape_of(found.wood), now, pieces(found.wood, [crack.run_on() for crack in cracks]))


def worst_loss(bending: Bending, sound: Bending) -> tuple[Worst, float]:
    """Give the least modulus, and the loss in % against the sound section at that same azimuth."""
    worst = bending.worst()
    return worst, float(losses(bending, sound, worst.azimuth_deg))
