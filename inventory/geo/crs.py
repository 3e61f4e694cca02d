"""The coordinate reference systems that may be named, as EPSG numbers: no user text ever reaches GDAL or PROJ."""

import re
from typing import Final

from inventory.problems import Invalid

WGS84: Final = 4326

_NAMED: Final = {
    # geographic
    4326: "WGS 84",
    4258: "ETRS89",
    4269: "NAD83",
    4283: "GDA94",
    7844: "GDA2020",
    4167: "NZGD2000",
    # the web
    3857: "WGS 84 / Pseudo-Mercator",
    # Europe
    2056: "CH1903+ / LV95",
    2100: "GGRS87 / Greek Grid",
    2154: "RGF93 v1 / Lambert-93",
    2180: "ETRF2000-PL / CS92",
    3003: "Monte Mario / Italy zone 1",
    3006: "SWEREF99 TM",
    3035: "ETRS89-extended / LAEA Europe",
    3059: "LKS92 / Latvia TM",
    3301: "Estonian Coordinate System of 1997",
    3346: "LKS94 / Lithuania TM",
    3763: "ETRS89 / Portugal TM06",
    3812: "ETRS89 / Belgian Lambert 2008",
    3879: "ETRS89 / GK25FIN",
    5514: "S-JTSK / Krovak East North",
    27700: "OSGB36 / British National Grid",
    28992: "Amersfoort / RD New",
    31370: "BD72 / Belgian Lambert 72",
    31467: "DHDN / 3-degree Gauss-Kruger zone 3",
    31468: "DHDN / 3-degree Gauss-Kruger zone 4",
    # North America: state planes of cities that publish in feet
    2225: "NAD83 / California zone 1 (ftUS)",
    2226: "NAD83 / California zone 2 (ftUS)",
    2227: "NAD83 / California zone 3 (ftUS)",
    2228: "NAD83 / California zone 4 (ftUS)",
    2229: "NAD83 / California zone 5 (ftUS)",
    2230: "NAD83 / California zone 6 (ftUS)",
    2231: "NAD83 / Colorado North (ftUS)",
    2232: "NAD83 / Colorado Central (ftUS)",
    2236: "NAD83 / Florida East (ftUS)",
    2240: "NAD83 / Georgia West (ftUS)",
    2248: "NAD83 / Maryland (ftUS)",
    2249: "NAD83 / Massachusetts Mainland (ftUS)",
    2263: "NAD83 / New York Long Island (ftUS)",
    2269: "NAD83 / Oregon North (ft)",
    2272: "NAD83 / Pennsylvania South (ftUS)",
    2276: "NAD83 / Texas North Central (ftUS)",
    2278: "NAD83 / Texas South Central (ftUS)",
    2285: "NAD83 / Washington North (ftUS)",
    2913: "NAD83(HARN) / Oregon North (ft)",
    2926: "NAD83(HARN) / Washington North (ftUS)",
    3435: "NAD83 / Illinois East (ftUS)",
    # elsewhere
    2039: "Israel 1993 / Israeli TM Grid",
    2193: "NZGD2000 / New Zealand Transverse Mercator 2000",
    2326: "Hong Kong 1980 Grid System",
    3111: "GDA94 / Vicgrid",
    3414: "SVY21 / Singapore TM",
    5186: "Korea 2000 / Central Belt 2010",
    6677: "JGD2011 / Japan Plane Rectangular CS IX",
}
_UTM: Final = {
    **{32600 + zone: f"WGS 84 / UTM zone {zone}N" for zone in range(1, 61)},
    **{32700 + zone: f"WGS 84 / UTM zone {zone}S" for zone in range(1, 61)},
    **{25800 + zone: f"ETRS89 / UTM zone {zone}N" for zone in range(28, 38)},
    **{26900 + zone: f"NAD83 / UTM zone {zone}N" for zone in range(1, 24)},
    **{28300 + zone: f"GDA94 / MGA zone {zone}" for zone in range(48, 59)},
}
# Systems of continents, by their Esri numbers: no city's own, but degrees have been taken for their metres by mistake.
CONTINENTAL: Final = {
    102003: "USA Contiguous Albers Equal Area Conic",
    102004: "USA Contiguous Lambert Conformal Conic",
    102008: "North America Albers Equal Area Conic",
    102009: "North America Lambert Conformal Conic",
    102013: "Europe Albers Equal Area Conic",
    102014: "Europe Lambert Conformal Conic",
}
ALLOWED: Final[dict[int, str]] = _NAMED | _UTM
"""EPSG number -> name as the EPSG dataset gives it."""

_SPELLINGS = (
    re.compile(r"(?:EPSG:)?([0-9]{4,5})", re.IGNORECASE),
    re.compile(r"urn:ogc:def:crs:EPSG:[0-9.]*:([0-9]{4,5})", re.IGNORECASE),
    re.compile(r"https?://www\.opengis\.net/def/crs/EPSG/[0-9.]+/([0-9]{4,5})", re.IGNORECASE),
)


def allowed(srid: int, pointer: str = "#/crs") -> int:
    """Return the number if it is on the list. Raises Invalid that names the field."""
    if srid not in ALLOWED:
        raise Invalid.field(pointer, f"EPSG:{srid} is not a coordinate reference system known here")
    return srid


def read(text: str, pointer: str = "#/crs") -> int:
    """The EPSG number that a text names (`EPSG:2263`, `2263`, its URN or URI). Raises Invalid.

    >>> read("urn:ogc:def:crs:EPSG::2263")
    2263
    """
    for spelling in _SPELLINGS:
        if found := spelling.fullmatch(text.strip()):
            return allowed(int(found[1]), pointer)
    raise Invalid.field(pointer, "is not an EPSG number such as EPSG:2263")
