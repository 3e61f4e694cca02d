"""Decayed areas and cavities on a cut face: drawn, or simple (a diameter or a share of the face, with an offset)."""

import math
from typing import Any, Final

import numpy as np
import shapely
from shapely import Polygon, affinity

from assessments.methods.request import Fields
from assessments.methods.section.outline import Outline, directions

METHOD: Final = "voids_on_a_cut"
VERSION: Final = 1

FIELDS: Final = ("polygon_cm", "diameter_cm", "diameter2_cm", "share_percent", "azimuth_deg", "offset_cm")
FORMS: Final = ("polygon_cm", "diameter_cm", "share_percent")
LARGEST_CM: Final = 2000.0
# Less is a speck that nobody measures.
LEAST_CM: Final = 0.1
LEAST_PERCENT: Final = 0.01
_VERTICES: Final = 90


def ring(value: object, pointer: str, outline: Outline) -> list[list[float]] | Any:
    """Read one void as a ring in the outline's own coordinates. Raises MethodProblem.

    A drawn ring is given back as it is: the section's own reading checks it.
    """
    item = Fields(value, pointer, FIELDS)
    given = [name for name in FORMS if item.has(name)]
    if len(given) != 1:
        raise item.wrong(
            (given or ["diameter_cm"])[-1],
            "is missing: give it, share_percent or polygon_cm"
            if not given
            else "is given beside another form: give one",
        )
    if given[0] == "polygon_cm":
        return item.raw("polygon_cm")
    azimuth, offset = item.maybe("azimuth_deg", 0, 360) or 0.0, item.maybe("offset_cm", 0, LARGEST_CM) or 0.0
    if given[0] == "share_percent":
        shape = _share(outline, item.number("share_percent", LEAST_PERCENT, 99.9) / 100)
    else:
        across = item.number("diameter_cm", LEAST_CM, LARGEST_CM)
        along = item.maybe("diameter2_cm", LEAST_CM, LARGEST_CM) or across
        # The first diameter lies along the offset's azimuth.
        shape = affinity.rotate(ellipse(along, across), -azimuth, origin=(0, 0))
    east, north = (offset * directions(azimuth) + outline.centre_cm).tolist()
    points: list[list[float]] = shapely.get_coordinates(affinity.translate(shape, east, north).exterior)[:-1].tolist()
    return points


def ellipse(east_cm: float, north_cm: float) -> Polygon:
    """Make an ellipse round the origin from its diameters, with the exact area.

    >>> round(ellipse(20.0, 10.0).area, 6) == round(math.pi * 50, 6)
    True
    """
    turn = np.linspace(0, 2 * np.pi, _VERTICES, endpoint=False)
    # A ring inscribed would be too small by this.
    lift = math.sqrt(2 * math.pi / (_VERTICES * math.sin(2 * math.pi / _VERTICES)))
    return Polygon(lift / 2 * np.column_stack([east_cm * np.sin(turn), north_cm * np.cos(turn)])[::-1])


def _share(outline: Outline, share: float) -> Polygon:
    """The face's own shape, shrunk round its centroid to a share of its area."""
    if outline.circle_radius_cm is not None:
        across = 2 * outline.circle_radius_cm * math.sqrt(share)
        return ellipse(across, across)
    return affinity.scale(outline.polygon, math.sqrt(share), math.sqrt(share), origin=(0, 0))
