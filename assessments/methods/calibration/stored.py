"""A calibration as JSON and back, so that it is stored once and read by every later suggestion."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

import numpy as np

from .fit import METHOD as FIT_METHOD
from .fit import VERSION as FIT_VERSION
from .fit import Calibration, Effect, Stratum
from .posterior import Points
from .presence import Presence, Share

METHOD: Final = "stored_calibration"
VERSION: Final = 1


def as_json(calibration: Calibration) -> dict[str, Any]:
    """Say a calibration in JSON; `points` is for the machine, the rest for people."""
    points, count = calibration.points, calibration.points.mean.shape[1]
    upper = np.triu_indices(count)
    return {
        **{name: getattr(calibration, name) for name in ("trees", "cuts", "lowest", "highest", "method", "version")},
        "enough": calibration.enough,
        "levels": [list(names) for names in calibration.levels],
        "effects": [asdict(one) for one in calibration.effects],
        "strata": [asdict(one) for one in calibration.strata],
        "presence": asdict(calibration.presence),
        "notes": list(calibration.notes),
        "points": {
            "sizes": _short(points.sizes),
            "mean": _short(points.mean),
            "covariance": _short(points.covariance[:, upper[0], upper[1]]),
            "effective_draws": float(points.effective_draws),
        },
    }


def _short(values: Any) -> Any:
    return [[float(f"{value:.7g}") for value in row] for row in values.tolist()]


def from_json(stored: Mapping[str, Any]) -> Calibration | None:
    """Read a stored calibration; None where another method or version made it: it has to be fitted again."""
    if (stored["method"], stored["version"]) != (FIT_METHOD, FIT_VERSION):
        return None
    told = stored["points"]
    mean = np.array(told["mean"], np.float64)
    upper = np.triu_indices(mean.shape[1])
    covariance = np.zeros((*mean.shape, mean.shape[1]))
    covariance[:, upper[0], upper[1]] = covariance[:, upper[1], upper[0]] = np.array(told["covariance"])
    points = Points(np.array(told["sizes"], np.float64), mean, covariance, np.array(told["effective_draws"]))
    seen = stored["presence"]
    shares = {name: Share(**value) for name, value in seen.items() if name != "by_sign"}
    by_sign = tuple((sign, Share(**share)) for sign, share in seen["by_sign"])
    return Calibration(
        **{name: stored[name] for name in ("trees", "cuts", "lowest", "highest", "method", "version")},
        levels=tuple(tuple(names) for names in stored["levels"]),
        points=points,
        effects=tuple(Effect(**one) for one in stored["effects"]),
        strata=tuple(Stratum(**one) for one in stored["strata"]),
        presence=Presence(by_sign=by_sign, **shares),
        notes=tuple(stored["notes"]),
    )
