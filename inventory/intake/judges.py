"""Judges what a column is, by its values first and its heading second; each says why in words.

The weights are the project's choice (common practice, no source): heading and values that agree are near certain,
values alone may decide, a heading against its values does not.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from inventory.intake import cells
from inventory.intake.profile import Profile
from inventory.intake.roles import DATES, ORDERS, SIZES, named, unit_in
from inventory.intake.table import Floats

AGREE, VALUES_ONLY = 0.95, 0.6
DECIDES = 0.5
# How many of the commonest epithets are tried with how many of the commonest genera.
EPITHETS = 60
# What the middle and the 99th percentile of a city's street trees are about (SI): the unit in which a size is
# believable is the one that comes nearest to both.
DBH_CM = (25.0, 100.0)
GIRTH_CM = (78.0, 314.0)
HEIGHT_M = (9.0, 25.0)
CROWN_M = (6.0, 18.0)


@dataclass(frozen=True)
class Opinion:
    """A role that a column may have: how sure (0 to 1), why, and the unit or form that goes with it."""

    role: str
    confidence: float
    evidence: str
    unit: str = ""
    format: str = ""


def opinions(profile: Profile, others: Iterable[Profile]) -> list[Opinion]:
    """Every role that the column may have, the surest first."""
    if not profile.cells:
        return []
    found = [opinion for judge in JUDGES if (opinion := judge(profile))]
    epithet = _epithet(profile, others)
    found += [epithet] if epithet else []
    return sorted(found, key=lambda opinion: -opinion.confidence)


def _weigh(role: str, profile: Profile, values: float, alone: float = VALUES_ONLY) -> float:
    """Confidence from the share of values that fit (0 to 1) and from the heading."""
    heading = named(role, profile.heading)
    return values * (alone + (AGREE - alone) * heading)


def _says(role: str, profile: Profile) -> str:
    return f"the heading {profile.heading!r} says so; " if named(role, profile.heading) else ""


def _latitude(profile: Profile) -> Opinion | None:
    return _degrees("latitude", profile, 90)


def _longitude(profile: Profile) -> Opinion | None:
    return _degrees("longitude", profile, 180)


def _degrees(role: str, profile: Profile, limit: float) -> Opinion | None:
    numbers = profile.numbers
    if profile.numeric < 0.9 or np.mean(np.abs(numbers) <= limit) < 0.95 or profile.fractions < 0.5:
        return None
    low, high = np.percentile(numbers, [1, 99])
    if high - low > 5:
        return None
    # Degrees that no latitude has tell a longitude by themselves.
    alone = VALUES_ONLY if role == "longitude" and np.median(np.abs(numbers)) > 90 else 0.3
    evidence = f"numbers with decimals between {low:.4f} and {high:.4f}: degrees within one city"
    return Opinion(role, _weigh(role, profile, profile.numeric, alone), _says(role, profile) + evidence)


def _point(profile: Profile) -> Opinion | None:
    pairs = [cells.point(cell, "lon_lat") for cell in profile.cells[:2000]]
    found = np.array([pair for pair in pairs if np.isfinite(pair[0])], float).reshape(-1, 2)
    share = len(found) / len(pairs)
    if share < 0.9:
        return None
    order, why = _order(profile, found)
    if not order:
        return None
    evidence = f"{share:.1%} of the cells hold two coordinates; {why}"
    return Opinion("point", _weigh("point", profile, share, 0.9), evidence, format=order)


def _order(profile: Profile, found: Floats) -> tuple[str, str]:
    first, second = np.abs(found).max(axis=0)
    if first > 180 or second > 180 or (first > 90 and second > 90):
        return "", ""
    if first > 90:
        return "lon_lat", "the first is beyond 90, so it is the longitude"
    if second > 90:
        return "lat_lon", "the second is beyond 90, so it is the longitude"
    heading = profile.heading.casefold()
    at = (heading.find("lat"), heading.find("lon") if "lon" in heading else heading.find("lng"))
    if min(at) >= 0:
        return ORDERS[at[0] > at[1]], "the heading gives their order"
    if "," in profile.cells[0]:
        return "lat_lon", "latitude first, as pairs with a comma are commonly written (either order is possible)"
    return "lon_lat", "longitude first, as WKT and EWKB have it"


def _key(profile: Profile) -> Opinion | None:
    whole = profile.numeric < 0.5 or profile.fractions == 0
    if profile.unique < 0.98 or profile.filled < 0.95 or not whole or max(map(len, profile.cells)) > 60:
        return None
    if profile.share(lambda cell: " " in cell.strip()) > 0.2:
        return None
    evidence = f"{profile.unique:.1%} of the values stand on one row only and {profile.filled:.1%} of the rows have one"
    return Opinion("key", _weigh("key", profile, profile.unique, 0.5), _says("key", profile) + evidence)


def _species(profile: Profile) -> Opinion | None:
    latin, genus = profile.named("exact", "synonym"), profile.named("genus")
    if latin + genus < 0.4 or (latin < 0.25 and not named("species", profile.heading)):
        return None
    evidence = f"{latin:.1%} of the rows name a species of the catalogue and {genus:.1%} a genus"
    return Opinion("species", _weigh("species", profile, min(1.0, latin + genus), 0.85), evidence)


def _genus(profile: Profile) -> Opinion | None:
    share, words = profile.named("genus"), profile.share(lambda cell: " " in cell.strip())
    if share < 0.5 or words > 0.2:
        return None
    return Opinion("genus", _weigh("genus", profile, share, 0.8), f"{share:.1%} of the rows are the name of a genus")


def _epithet(profile: Profile, others: Iterable[Profile]) -> Opinion | None:
    """An epithet names a species only together with a genus of another column of the same rows."""
    one_word = profile.share(lambda cell: len(cell.split()) <= 2)
    if profile.numeric > 0.1 or one_word < 0.8 or profile.named("exact", "synonym", "genus") > 0.3:
        return None
    for other in others:
        if other is profile or other.rows != profile.rows or other.named("genus") < 0.5:
            continue
        commonest = profile.counts.most_common(EPITHETS)
        genera = [text for text, _ in other.counts.most_common(EPITHETS) if _is_genus(profile, text)]
        found = sum(n for text, n in commonest if _goes_with(profile, genera, text))
        share = found / sum(n for _, n in commonest)
        if share >= 0.4:
            evidence = f"together with a genus of {other.heading!r}, {share:.1%} of the rows name a species"
            return Opinion("epithet", _weigh("epithet", profile, share, 0.8), evidence)
    return None


def _is_genus(profile: Profile, text: str) -> bool:
    return profile.names.match(text).how == "genus"


def _goes_with(profile: Profile, genera: list[str], text: str) -> bool:
    return any(profile.names.match(f"{genus} {text}").how in ("exact", "synonym") for genus in genera)


def _common(profile: Profile) -> Opinion | None:
    share = profile.named("common")
    everyday = share + profile.named("genus") if named("common", profile.heading) else share
    if everyday < 0.3:
        return None
    return Opinion(
        "common", _weigh("common", profile, everyday, 0.8), f"{everyday:.1%} of the rows are everyday names of trees"
    )


def _cultivar(profile: Profile) -> Opinion | None:
    quoted = profile.share(lambda cell: cell.strip().startswith(("'", "‘", "’")))
    if quoted < 0.5 and not named("cultivar", profile.heading):
        return None
    evidence = f"{quoted:.1%} of the values stand in single quotes, as cultivars do"
    return Opinion("cultivar", _weigh("cultivar", profile, max(quoted, 0.7)), _says("cultivar", profile) + evidence)


def _sized(role: str, low: float, high: float, typical: tuple[float, float]) -> "Judge":
    """A judge of sizes: the heading must name it; the unit is the heading's, else the one that is believable."""
    scale = SIZES[role]

    def judge(profile: Profile) -> Opinion | None:
        if not named(role, profile.heading) or profile.numeric < 0.8:
            return None
        known = profile.numbers[profile.numbers > 0]
        if not len(known) or np.mean(profile.numbers >= 0) < 0.99:
            return None
        middle, top = (float(value) for value in np.percentile(known, [50, 99]))
        unit = unit_in(profile.heading)
        why = f"the heading gives {unit}"
        if unit not in scale:
            unit, why = _believable(middle, top, scale, typical)
        fits = low <= middle * scale[unit] <= high
        evidence = f"{profile.numeric:.1%} numbers, half of them under {middle:g}, one in a hundred over {top:g}; {why}"
        return Opinion(role, _weigh(role, profile, 1.0 if fits else 0.5), _says(role, profile) + evidence, unit=unit)

    return judge


def _believable(middle: float, top: float, scale: Mapping[str, float], typical: tuple[float, float]) -> tuple[str, str]:
    """The unit in which the middle and the large values come nearest to those of street trees."""

    def far(unit: str) -> float:
        times = scale[unit]
        return float(abs(np.log(middle * times / typical[0])) + abs(np.log(top * times / typical[1])))

    best, second = sorted(scale, key=far)[:2]
    return best, f"as {best} these are the sizes of street trees, rather than as {second}"


def _dates(role: str) -> "Judge":
    def judge(profile: Profile) -> Opinion | None:
        form, days = max(((form, profile.days(form)) for form in DATES), key=lambda found: len(found[1]))
        share = len(days) / len(profile.cells)
        years = days / 365.2425
        if share < 0.8 or np.percentile(years, 1) < 1700 or np.percentile(years, 99) > 2101:
            return None
        if set(map(len, profile.counts)) <= {4, 6} and not named(role, profile.heading):
            return None  # four digits alone may be anything
        form = "year" if share and max(map(len, profile.counts)) <= 6 else form
        low, high = np.percentile(years, [5, 95])
        span = f"{share:.1%} dates, most of {low:.0f} to {high:.0f}"
        wide = high - low > 6
        if (role == "planted") != wide and not named(role, profile.heading):
            return None
        shape = "spread over decades, as plantings are" if wide else "close together, as a survey is"
        evidence = f"{span}: {shape}"
        return Opinion(role, _weigh(role, profile, share), _says(role, profile) + evidence, format=form)

    return judge


def _address(profile: Profile) -> Opinion | None:
    share = profile.share(lambda cell: bool(cells.address(cell)[0]) and len(cell.split()) > 1)
    if share < 0.5 or profile.numeric > 0.2 or profile.named("exact", "synonym", "genus") > 0.3:
        return None
    if profile.share(lambda cell: cells.days(cell, "ymd")[0] > 0) > 0.3 or len(profile.counts) < 3:
        return None
    evidence = f"{share:.1%} of the values are a number and a name, as a house number and a street"
    return Opinion("address", _weigh("address", profile, share, 0.5), _says("address", profile) + evidence)


def _by_heading(role: str, values: Callable[[Profile], float], evidence: str) -> "Judge":
    """A judge for roles that values alone cannot tell: the heading must name it and the values must not deny it."""

    def judge(profile: Profile) -> Opinion | None:
        share = values(profile)
        if not named(role, profile.heading) or share < 0.3:
            return None
        return Opinion(role, _weigh(role, profile, share), _says(role, profile) + evidence.format(share))

    return judge


def _place(profile: Profile) -> Opinion | None:
    space = profile.space_words
    if profile.numeric > 0.5 or (space < 0.5 and not named("place", profile.heading)) or len(profile.counts) > 300:
        return None
    evidence = f"{space:.1%} of the rows name a growing space"
    return Opinion("place", _weigh("place", profile, max(space, 0.6), 0.7), evidence)


def _state(profile: Profile) -> Opinion | None:
    """The state is told by words such as dead and stump; a column of "alive" alone would tell nothing."""
    telling = profile.share(lambda cell: cell.strip().casefold() in ("alive", "dead", "stump", "vacant"))
    if telling < 0.8 or len(profile.counts) > 12:
        return None
    return Opinion(
        "state", _weigh("state", profile, telling, 0.8), f"{telling:.1%} of the rows say alive, dead or stump"
    )


def _strip(profile: Profile) -> Opinion | None:
    """Two sides or a width in words; without a unit in heading or values it cannot be taken over."""
    share = profile.share(lambda cell: any(map(str.isdigit, cell)))
    if not named("strip_width", profile.heading) or share < 0.5:
        return None
    feet = profile.share(lambda cell: "ft" in cell or "feet" in cell or cell.rstrip().endswith("'"))
    unit, why = unit_in(profile.heading), "the heading gives the unit"
    if not unit and feet:
        unit, why = "ft", f"{feet:.1%} of the values are written with ft"
    confidence = _weigh("strip_width", profile, share) if unit else 0.3
    return Opinion("strip_width", confidence, _says("strip_width", profile) + (why if unit else "no unit"), unit=unit)


def _words(profile: Profile) -> float:
    return 1.0 - profile.numeric


def _short(profile: Profile) -> float:
    return profile.share(lambda cell: any(map(str.isdigit, cell)) and len(cell) <= 10)


Judge = Callable[[Profile], Opinion | None]
JUDGES: tuple[Judge, ...] = (
    _latitude,
    _longitude,
    _point,
    _key,
    _species,
    _genus,
    _common,
    _cultivar,
    _sized("dbh", 3, 150, DBH_CM),
    _sized("girth", 8, 470, GIRTH_CM),
    _sized("height", 1.5, 45, HEIGHT_M),
    _sized("crown", 1, 30, CROWN_M),
    _dates("planted"),
    _dates("measured"),
    _address,
    _by_heading("street", _words, "{0:.1%} of the values are words"),
    _by_heading("number", _short, "{0:.1%} of the values are short numbers"),
    _place,
    _strip,
    _state,
    _by_heading("note", _words, "{0:.1%} of the values are words"),
)
