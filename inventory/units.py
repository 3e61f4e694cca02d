"""Sizes as a reader wants to see them, on pages and in documents: metric or US customary. Storage stays metric."""

from typing import Final

from inventory.rules import FOOT_M, INCH_CM

SI: Final = "si"
US: Final = "us"
# Exact by definition: 1,609.344 m in 3,600 s (NIST SP 811).
MILE_AN_HOUR_M_S: Final = 0.44704
# No-break space: a number never parts from its unit.
_GAP: Final = "\u00a0"


def _number(value: float) -> str:
    if abs(value) < 2:
        return f"{value:.2f}".rstrip("0").removesuffix(".")
    return f"{value:.1f}".removesuffix(".0") if abs(value) < 10 else f"{value:.0f}"


def diameter(cm: float | None, units: str = SI) -> str:
    """Say a diameter given in cm.

    >>> diameter(40.0).split(), diameter(40.0, "us").split(), diameter(None)
    (['40', 'cm'], ['16', 'in'], '')
    """
    if cm is None:
        return ""
    return f"{_number(cm / INCH_CM)}{_GAP}in" if units == US else f"{_number(cm)}{_GAP}cm"


def diameter_class(low_cm: float | None, high_cm: float | None, units: str = SI) -> str:
    """Say a diameter known only as an interval, ends in cm; one end may be open.

    >>> diameter_class(33.02, 45.72, "us").split()
    ['13–18', 'in']
    """
    step, unit = (INCH_CM, "in") if units == US else (1.0, "cm")
    if low_cm is not None and high_cm is not None:
        return f"{_number(low_cm / step)}–{_number(high_cm / step)}{_GAP}{unit}"
    if low_cm is not None:
        return f"over {_number(low_cm / step)}{_GAP}{unit}"
    return f"up to {_number(high_cm / step)}{_GAP}{unit}" if high_cm is not None else ""


def length(m: float | None, units: str = SI) -> str:
    """Say a height, a crown width or a distance given in m.

    >>> length(12.0).split(), length(12.0, "us").split()
    (['12', 'm'], ['39', 'ft'])
    """
    if m is None:
        return ""
    return f"{_number(m / FOOT_M)}{_GAP}ft" if units == US else f"{_number(m)}{_GAP}m"


def area(m2: float | None, units: str = SI) -> str:
    """Say an area given in m2.

    >>> area(120.0).split(), area(120.0, "us").split()
    (['120', 'm²'], ['1292', 'ft²'])
    """
    if m2 is None:
        return ""
    return f"{_number(m2 / FOOT_M**2)}{_GAP}ft²" if units == US else f"{_number(m2)}{_GAP}m²"


def speed(m_s: float, units: str = SI, figure: str = "") -> str:
    """Say a wind speed, as the figure in m/s that is given; in US units miles an hour stand beside it.

    >>> speed(33.0, "us").split(), speed(45.0, "us", ">45").split()
    (['33.0', 'm/s', '(74', 'mph)'], ['>45', 'm/s', '(>101', 'mph)'])
    """
    said = f"{figure or f'{m_s:.1f}'}{_GAP}m/s"
    more = ">" if figure.startswith(">") else ""
    return f"{said} ({more}{m_s / MILE_AN_HOUR_M_S:.0f}{_GAP}mph)" if units == US else said


def quantity(value: float, unit: str, system: str = SI) -> str:
    """Say a number with its stored unit; lengths in the reader's units, everything else as it is.

    >>> quantity(25.4, "mm", "us").split(), quantity(12, "%").split()
    (['1', 'in'], ['12', '%'])
    """
    if unit == "cm":
        return diameter(value, system)
    if unit == "m":
        return length(value, system)
    if unit == "mm" and system == US:
        return diameter(value / 10, system)
    return f"{value:g}{_GAP}{unit}".rstrip(_GAP)
