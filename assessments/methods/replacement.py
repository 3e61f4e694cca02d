"""Species that fit a site after a removal, with reasons: mature size, strip width, roots, shares of the population.

Sources: Santamour 1990 for the shares; heights under lines and strip widths are common practice, no source.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from . import tables
from .population import SANTAMOUR, Population

METHOD: Final = "replacement_species"
VERSION: Final = 1

# Where a tree's roots are cut off or paved over, species that bear it go first: project's choice.
TIGHT_SPACES: Final = ("cutout", "planter")
TIGHT_WIDTH_M: Final = 2.0
# Crown diameters this close count as equal in the order: project's choice.
CROWN_STEP_M: Final = 2.0
_TOLERANCE: Final = {"good": 0, "moderate": 1, "unknown": 2, "poor": 3}


@dataclass(frozen=True)
class Place:
    """The site: a word of the inventory's overhead lines and growing spaces; widths in m, None: unknown.

    `clear_height_m`: what the line's owner allows, wins over the table. `crown_space_m`: room for a crown's diameter.
    """

    overhead_lines: str = "unknown"
    growing_space: str = "unknown"
    strip_width_m: float | None = None
    clear_height_m: float | None = None
    crown_space_m: float | None = None


@dataclass(frozen=True)
class Candidate:
    """A species of the catalogue: mature sizes in m (None: unknown), tolerance of its roots to disturbance."""

    name: str
    genus: str
    family: str
    mature_height_m: float | None
    mature_crown_m: float | None
    root_tolerance: str = "unknown"
    palm: bool = False


@dataclass(frozen=True)
class Judged:
    """A candidate at a place: `reasons` why it fits, `against` why not; it fits where nothing speaks against it."""

    candidate: Candidate
    reasons: tuple[str, ...]
    against: tuple[str, ...]
    genus_share: float

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.against


_LINES: Final = {
    row["name"]: float(row["most_height_m"]) if row["most_height_m"] else None
    for row in tables.read("replacement_limits")
    if row["limit"] == "line"
}
_STRIPS: Final = tuple(
    (row["name"], float(row["most_height_m"] or "inf"), float(row["least_width_m"]))
    for row in tables.read("replacement_limits")
    if row["limit"] == "strip"
)


def judge(candidate: Candidate, place: Place, population: Population) -> Judged:
    """Judge one candidate at a place.

    >>> oak = Candidate("Quercus robur", "Quercus", "Fagaceae", 30, 20)
    >>> judge(oak, Place("low_voltage"), Population(0, {}, {}, {})).against
    ('grows to 30 m; under low voltage lines at most 7.5 m',)
    """
    reasons: list[str] = []
    against: list[str] = []
    height = candidate.mature_height_m
    if height is None:
        against.append("its mature height is not known")
    else:
        _line(height, place, reasons, against)
        _strip(height, place, reasons, against)
    _crown(candidate, place, reasons, against)
    _roots(candidate, place, reasons, against)
    _shares(candidate, population, reasons, against)
    return Judged(candidate, tuple(reasons), tuple(against), population.share("genus", candidate.genus))


def _line(height_m: float, place: Place, reasons: list[str], against: list[str]) -> None:
    most = place.clear_height_m if place.clear_height_m is not None else _LINES[place.overhead_lines]
    if most is None:
        if place.overhead_lines == "unknown":
            reasons.append("overhead lines are not recorded: check on site")
        return
    what = f"{place.overhead_lines.replace('_', ' ')} lines" if place.clear_height_m is None else "the clear height"
    if height_m > most:
        against.append(f"grows to {height_m:g} m; under {what} at most {most:g} m")
    else:
        reasons.append(f"stays at {height_m:g} m under {what} ({most:g} m)")


def _strip(height_m: float, place: Place, reasons: list[str], against: list[str]) -> None:
    if place.strip_width_m is None:
        return
    size, _, least = next(row for row in _STRIPS if height_m <= row[1])
    if place.strip_width_m < least:
        against.append(f"a {size} tree wants a strip of {least:g} m; this one has {place.strip_width_m:g} m")
    else:
        reasons.append(f"the strip of {place.strip_width_m:g} m bears a {size} tree ({least:g} m)")


def _crown(candidate: Candidate, place: Place, reasons: list[str], against: list[str]) -> None:
    crown, space = candidate.mature_crown_m, place.crown_space_m
    if crown is None or space is None:
        return
    if crown > space:
        against.append(f"its crown grows to {crown:g} m; there is room for {space:g} m")
    else:
        reasons.append(f"its crown of {crown:g} m has room")


def _tight(place: Place) -> bool:
    narrow = place.strip_width_m is not None and place.strip_width_m < TIGHT_WIDTH_M
    return narrow or place.growing_space in TIGHT_SPACES


def _roots(candidate: Candidate, place: Place, reasons: list[str], against: list[str]) -> None:
    if not _tight(place):
        return
    if candidate.root_tolerance == "poor":
        against.append("its roots bear disturbance poorly, and the growing space is tight")
    elif candidate.root_tolerance in ("good", "moderate"):
        reasons.append(f"its roots bear disturbance: {candidate.root_tolerance}")


def _shares(candidate: Candidate, population: Population, reasons: list[str], against: list[str]) -> None:
    for rank, name in (("species", candidate.name), ("genus", candidate.genus), ("family", candidate.family)):
        share = population.share(rank, name)
        if share > SANTAMOUR[rank]:
            most = f"{100 * SANTAMOUR[rank]:g} % (Santamour 1990)"
            against.append(f"{name} makes up {100 * share:.1f} % of the population already; {rank} at most {most}")
        elif rank == "genus" and population.total:
            reasons.append(f"the genus makes up {100 * share:.1f} % of the population")


def suggest(
    place: Place, candidates: Iterable[Candidate], population: Population, most: int = 10
) -> tuple[Judged, ...]:
    """Give the species that fit, best first: the largest crown that the place bears, root tolerance where it is tight,
    then the rarer genus; project's choice of order."""
    found = [judge(one, place, population) for one in candidates]
    return tuple(sorted((one for one in found if one.fits), key=lambda one: _order(one, place))[:most])


def _order(one: Judged, place: Place) -> tuple[float, float, float, str]:
    crown = one.candidate.mature_crown_m or 0.0
    roots = _TOLERANCE[one.candidate.root_tolerance] if _tight(place) else 0
    return (-(crown // CROWN_STEP_M), roots, one.genus_share, one.candidate.name)


def refused(place: Place, candidates: Sequence[Candidate], population: Population) -> tuple[Judged, ...]:
    """Give the species that do not fit, by name, with what speaks against each."""
    found = (judge(one, place, population) for one in candidates)
    return tuple(sorted((one for one in found if not one.fits), key=lambda one: one.candidate.name))
