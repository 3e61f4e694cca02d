"""Says the names of fields and their numbers for people: `sound_wall_cm` becomes "Sound wall (cm)"."""

from collections.abc import Sequence
from typing import Any, Final

# The longest ending wins; each is the unit in the name.
_UNITS: Final = {
    "_kg_m3": "kg/m³",
    "_m_per_year": "m a year",
    "_m_s": "m/s",
    "_knm": "kN m",
    "_kn": "kN",
    "_mpa": "MPa",
    "_percent": "%",
    "_deg": "°",
    "_cm4": "cm⁴",
    "_cm3": "cm³",
    "_cm2": "cm²",
    "_cm": "cm",
    "_mm": "mm",
    "_m3": "m³",
    "_m2": "m²",
    "_m": "m",
    "_kg": "kg",
}
_WORDS: Final = {
    "t_over_r": "t/R",
    "dbh_cm": "Diameter at breast height (cm)",
    "v10_m_s": "Wind speed at 10 m (m/s)",
    "best_estimate": "Best estimate",
    "low95": "Low, 95 %",
    "high95": "High, 95 %",
    "low": "Low, 80 %",
    "high": "High, 80 %",
    "smiley_fraedrich": "Smiley and Fraedrich",
    "from_m": "From (m)",
    "to_m": "To (m)",
    "crossed_percent": "Chance crossed (%)",
}


def label(name: str) -> str:
    """Give the words for a field's name.

    >>> label("sound_wall_cm"), label("critical_gust_m_s"), label("open")
    ('Sound wall (cm)', 'Critical gust (m/s)', 'Open')
    """
    if name in _WORDS:
        return _WORDS[name]
    ending = max((one for one in _UNITS if name.endswith(one)), key=len, default="")
    words = (name.removesuffix(ending) or name).replace("_", " ").strip()
    said = words[:1].upper() + words[1:]
    return f"{said} ({_UNITS[ending]})" if ending else said


def path(steps: Sequence[str]) -> str:
    """Give the words for a field inside others.

    >>> path(["wind", "v10_m_s"]), path(["bending_mpa"])
    ('Wind: wind speed at 10 m (m/s)', 'Bending (MPa)')
    """
    first, *others = (label(step) for step in steps)
    return ": ".join((first, *(one[:1].lower() + one[1:] for one in others)))


def figure(value: Any) -> str:
    """Say one value: numbers to four digits, yes and no, codes as words.

    >>> figure(12345.67), figure(0.123456), figure(True), figure("very_low"), figure(None)
    ('12\u202f346', '0.1235', 'yes', 'very low', 'not known')
    """
    if value is None or value == "":
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:,.0f}".replace(",", "\u202f") if abs(value) >= 10_000 else f"{value:.4g}"
    text = str(value)
    return text.replace("_", " ") if text.islower() and " " not in text and "/" not in text else text
