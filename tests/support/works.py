"""Works about a stem, for the root zones."""

from typing import Any


def beyond(edge_m: float, far_m: float = 40.0) -> dict[str, Any]:
    """Everything east of a straight edge, in a metric plane with the stem at (0, 0)."""
    corners = [[edge_m, -far_m], [far_m, -far_m], [far_m, far_m], [edge_m, far_m], [edge_m, -far_m]]
    return {"plane": "metric", "location": [0, 0], "works": {"type": "Polygon", "coordinates": [corners]}}
