"""Requests of a stem load to start from, and random trees for its laws."""

from typing import Any

from hypothesis import strategies as st

ASH: dict[str, Any] = {
    "species": "Fraxinus pennsylvanica",
    "height_m": 18,
    "crown_base_m": 4,
    "crown_width_m": 10,
    "dbh_cm": 60,
    "bark_cm": 1.5,
}
HOLLOW: dict[str, Any] = {
    "diameter_cm": 60,
    "bark_cm": 1.5,
    "draws": 50,
    "readings": [
        {"azimuth_deg": 0, "sound_wall_cm": 12},
        {"azimuth_deg": 90, "sound_wall_cm": 4},
        {"azimuth_deg": 180, "sound_wall_cm": 12},
        {"azimuth_deg": 270, "sound_wall_cm": 15},
    ],
}
TREE = st.fixed_dictionaries(
    {
        "species": st.sampled_from(["Fraxinus pennsylvanica", "Tilia cordata", "Picea abies", "Ginkgo biloba"]),
        "height_m": st.floats(5, 40),
        "crown_base_m": st.floats(0, 4.5),
        "crown_width_m": st.floats(1, 20),
        "dbh_cm": st.floats(10, 150),
        "lean": st.fixed_dictionaries({"angle_deg": st.floats(0, 20), "azimuth_deg": st.floats(0, 360)}),
        "crown_offset": st.fixed_dictionaries({"distance_m": st.floats(0, 2), "azimuth_deg": st.floats(0, 360)}),
    }
)
