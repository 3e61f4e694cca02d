"""The tree that a stem load is asked for, as frozen dataclasses: size, crown, lean, sections, reduction, strength."""

from dataclasses import dataclass
from typing import Final

from assessments.methods.section.answer import Answer
from assessments.methods.wind import Wind
from assessments.methods.wood.drag import Drag
from assessments.methods.wood.strength import Strength

from .taper import Stem

METHOD: Final = "stem_load_tree"
VERSION: Final = 1


@dataclass(frozen=True)
class Loss:
    """Loss of section modulus as fractions of the sound one: low, best and high estimate (80 %)."""

    low: float
    best: float
    high: float


@dataclass(frozen=True)
class Place:
    """A height to compute at; what is known of the section there, if anything. Diameters enter the stem's taper."""

    height_m: float
    loss: Loss | None = None
    modulus_cm3: float | None = None
    section: Answer | None = None

    @property
    def measured(self) -> bool:
        """Whether anything but the height is known."""
        return not (self.loss is None and self.modulus_cm3 is None and self.section is None)


@dataclass(frozen=True)
class Reduction:
    """A crown reduction: shares of the crown's length and width taken off, and how fast both grow back."""

    length_share: float
    width_share: float
    regrowth_m_per_year: float
    years: tuple[float, ...]


@dataclass(frozen=True)
class Weight:
    """Masses for self-weight: stem density over bark in kg/m3, crown (branches and leaves) in kg."""

    stem_kg_m3: float
    crown_kg: float


@dataclass(frozen=True)
class Tree:
    """All that a stem load needs. Lean from the vertical, toward an azimuth; crown offset from the stem's axis in m."""

    stem: Stem
    height_m: float
    crown_base_m: float
    crown_width_m: float
    shape: str
    drag: Drag
    strength: Strength
    weight: Weight
    wind: Wind
    wind_toward_deg: float | None = None
    lean_deg: float = 0.0
    lean_azimuth_deg: float = 0.0
    offset_m: float = 0.0
    offset_azimuth_deg: float = 0.0
    places: tuple[Place, ...] = ()
    reduction: Reduction | None = None
    genus: str = ""
    notes: tuple[str, ...] = ()
