"""A sample of a file's rows with what each column is taken for: what columns are judged by together."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.geo.crs import WGS84
from inventory.geo.transform import taken_back, to_degrees
from inventory.intake import cells
from inventory.intake.profile import Profile
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

ROWS = 4_000
PAIRS = (("longitude", "latitude"), ("easting", "northing"))


@dataclass(frozen=True)
class Sample:
    """The columns of a file, row by row the same rows; `chosen` is changed by those who judge."""

    profiles: Sequence[Profile]
    columns: Sequence[list[str]]
    chosen: dict[str, Opinion]
    opinions_of: dict[str, list[Opinion]]
    crs: int = WGS84
    taken_for: int = 0

    def column(self, heading: str) -> list[str]:
        """The cells of a column, of ROWS rows or little more."""
        cells = self.columns[[profile.heading for profile in self.profiles].index(heading)]
        return cells[:: max(1, len(cells) // ROWS)]

    def profile(self, heading: str) -> Profile:
        """What a column looks like."""
        return next(profile for profile in self.profiles if profile.heading == heading)

    def of(self, role: str) -> str | None:
        """The column taken for a role."""
        return next((heading for heading, opinion in self.chosen.items() if opinion.role == role), None)

    def free(self) -> list[str]:
        """The columns with values that are taken for nothing yet."""
        return [profile.heading for profile in self.profiles if profile.cells and profile.heading not in self.chosen]

    def numbers(self, heading: str) -> Floats:
        """The numbers of a column; NaN where there is none."""
        decimal = self.profile(heading).decimal
        found = np.array([cells.number(cell, decimal) for cell in self.column(heading)], float)
        found[np.isinf(found)] = np.nan
        return found

    def where(self) -> tuple[Floats, Floats] | None:
        """Longitude and latitude of each row as they are mapped; None where they are not."""
        if heading := self.of("point"):
            pairs = [cells.point(cell, self.chosen[heading].format) for cell in self.column(heading)]
            x, y = np.array(pairs, float).reshape(-1, 2).T
        else:
            found = [(east, north) for one, other in PAIRS if (east := self.of(one)) and (north := self.of(other))]
            if not found:
                return None
            x, y = (self.numbers(heading) for heading in found[0])
        x, y = (np.where(np.isfinite(part), part, np.nan) for part in (x, y))
        if self.crs != WGS84:
            x, y = to_degrees(x, y, self.crs)
        return taken_back(x, y, self.taken_for) if self.taken_for else (x, y)
