"""Builders for sections: a hollow lime measured at 0.4 m, as JSON and as the record of an inspection."""

from typing import Any

from assessments.records import SectionRecord


def measured(wall_cm: float = 12.0, **fields: Any) -> dict[str, Any]:
    """Eight readings of one wall round a stem of 80 cm (over 2 cm of bark), 0.4 m above ground."""
    readings = [{"azimuth_deg": 45.0 * n, "sound_wall_cm": wall_cm} for n in range(8)]
    return {"height_m": 0.4, "diameter_cm": 80.0, "bark_cm": 2.0, "readings": readings} | fields


def cut(wall_cm: float = 12.0) -> dict[str, Any]:
    """The same with an opening and a crack."""
    opening = {"azimuth_deg": 200.0, "width_cm": 18.0}
    crack = {"azimuth_deg": 80.0, "gap_to_edge_cm": 0.0, "inner_radius_cm": 20.0}
    return measured(wall_cm, openings=[opening], cracks=[crack])


def section(wall_cm: float = 12.0, **fields: Any) -> SectionRecord:
    """The record of such a section."""
    return SectionRecord(measured(wall_cm), **fields)


def hollow(diameter_cm: float) -> dict[str, Any]:
    """An uneven hollow of a stem of any size with an opening and a crack, 0.4 m above ground."""
    walls = (0.20, 0.16, 0.14, 0.12, 0.10, 0.12, 0.18, 0.22)  # of the diameter, from north clockwise
    return {
        "height_m": 0.4,
        "diameter_cm": diameter_cm,
        "bark_cm": 1.5,
        "readings": [{"azimuth_deg": 45.0 * n, "sound_wall_cm": wall * diameter_cm} for n, wall in enumerate(walls)],
        "openings": [{"azimuth_deg": 170.0, "width_cm": 0.2 * diameter_cm}],
        "cracks": [{"azimuth_deg": 290.0, "gap_to_edge_cm": 0.0, "inner_radius_cm": 0.33 * diameter_cm}],
    }
