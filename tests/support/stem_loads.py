"""Builders for stem loads: crown and height of a lime, as JSON and as a record; a city that set its gusts."""

import json
from typing import Any

from assessments import services
from assessments.methods import policy as policies
from assessments.records import StemLoadRecord
from inventory.history import SERVICE

CLIMATE = {"one_year_m_s": 22.0, "fifty_year_m_s": 36.0}


def measured(**fields: Any) -> dict[str, Any]:
    """A crown from 4 to 24 m, 14 m wide; species and girth are left to the tree."""
    return {"height_m": 24.0, "crown_base_m": 4.0, "crown_width_m": 14.0} | fields


def stem_load(**fields: Any) -> StemLoadRecord:
    """The record of such a stem load."""
    return StemLoadRecord(measured(**fields))


def windy(**wind: Any) -> None:
    """Adopt a policy with the city's wind; with a gust climate unless told otherwise."""
    data = json.loads(policies.default_policy_text()) | {"wind": wind or {"gust_climate": CLIMATE}}
    services.adopt_policy(SERVICE, data, "the gusts of the city")
