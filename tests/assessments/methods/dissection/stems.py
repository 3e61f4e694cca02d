"""A felled lime of the invented city, as its cuts were recorded: a basal cavity, decay round it, a crack that turns."""

from typing import Any


def lime(cuts: int = 8) -> dict[str, Any]:
    """Eight cuts 15 cm apart from 0.35 m up; the cavity closes and the crack tapers upward."""
    return {"species": "Tilia cordata", "stump_height_m": 0.2, "cuts": [_cut(place) for place in range(cuts)]}


def _cut(place: int) -> dict[str, Any]:
    found: dict[str, Any] = {"uid": f"cut-{place}", "above_last_cm": 15, "diameter_cm": 60 - place, "bark_cm": 1.5}
    if place < 5:
        found["cavities"] = [{"diameter_cm": 26 - 5 * place, "azimuth_deg": 120, "offset_cm": 4}]
    if place < 6:
        found["decay"] = [{"share_percent": 30 - 5 * place}]
        found["cracks"] = [{"azimuth_deg": (350 + 4 * place) % 360, "gap_to_edge_cm": place / 2, "run_cm": 9 - place}]
    return found
