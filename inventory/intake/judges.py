"""Judges what a column is, by its values first and its heading second; each says why in words.

The weights are the project's choice (common practice, no source): heading and values that agree are near certain,
values alone may decide, a heading against its values does not.
"""

from collections.abc import Callable, Iterable

import numpy as np

from inventory.intake import cells, words
from inventory.intake.headings import named, unit_in
from inventory.intake.profile import Profile
from inventory.intake.roles import DATES
from inventory.intake.sizes import SIZE_JUDGES
from inventory.intake.weigh import Judge, Opinion, says, weigh

DECIDES = 0.5
# How many of the commonest epithets are tried with how many of the commonest genera.
EPITHETS = 60


def opinions(profile: Profile, others: Iterable[Profile]) -> list[Opinion]:
    """Every role that the column may have, the surest first."""
    if not profile.cells:
        return []
    found = [opinion for judge in JUDGES if (opinion := judge(profile))]
    epithet = _epithet(profile, others)
    found += [epithet] if epithet else []
    return sorted(found, key=lambda opinion: -opinion.confidence)


def _key(profile: Profile) -> Opinion | None:
    whole = profile.numeric < 0.5 or profile.fractions == 0
    if profile.key_unique < 0.98 or profile.filled < 0.95 or not whole or max(map(len, profile.cells)) > 60:
        return None
    if profile.share(lambda cell: " " in cell.strip()) > 0.2:
        return None
    evidence = f"{profile.unique:.1%} of the values stand on one row only and {profile.filled:.1%} of the rows have one"
    if profile.key_unique > profile.unique:
        evidence += f" ({profile.key_unique:.1%} where rows that stand twice are counted once)"
    return Opinion("key", weigh("key", profile, profile.key_unique, 0.5), says("key", profile) + evidence)


def _species(profile: Profile) -> Opinion | None:
    latin, genus = profile.named("exact", "synonym"), profile.named("genus")
    if latin + genus < 0.4 or (latin < 0.25 and not named("species", profile.heading)):
        return None
    evidence = f"{latin:.1%} of the rows name a species of the catalogue and {genus:.1%} a genus"
    return Opinion("species", weigh("species", profile, min(1.0, latin + genus), 0.85), evidence)


def _genus(profile: Profile) -> Opinion | None:
    share, words = profile.named("genus"), profile.share(lambda cell: " " in cell.strip())
    if share < 0.5 or words > 0.2:
        return None
    return Opinion("genus", weigh("genus", profile, share, 0.8), f"{share:.1%} of the rows are the name of a genus")


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
            return Opinion("epithet", weigh("epithet", profile, share, 0.8), evidence)
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
        "common", weigh("common", profile, everyday, 0.8), f"{everyday:.1%} of the rows are everyday names of trees"
    )


def _cultivar(profile: Profile) -> Opinion | None:
    quoted = profile.share(lambda cell: cell.strip().startswith(("'", "‘", "’")))
    if quoted < 0.5 and not named("cultivar", profile.heading):
        return None
    evidence = f"{quoted:.1%} of the values stand in single quotes, as cultivars do"
    return Opinion("cultivar", weigh("cultivar", profile, max(quoted, 0.7)), says("cultivar", profile) + evidence)


def _dates(role: str) -> Judge:
    def judge(profile: Profile) -> Opinion | None:
        forms = sorted(((form, profile.days(form)) for form in DATES), key=lambda found: -len(found[1]))
        form, days = forms[0]
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
        if {forms[0][0], forms[1][0]} == {"dmy", "mdy"} and len(forms[1][1]) == len(days):
            evidence += "; day and month could be the other way round: no day over 12 tells"
        return Opinion(role, weigh(role, profile, share), says(role, profile) + evidence, format=form)

    return judge


def _address(profile: Profile) -> Opinion | None:
    share = profile.share(lambda cell: bool(cells.address(cell)[0]) and len(cell.split()) > 1)
    if share < 0.5 or profile.numeric > 0.2 or profile.named("exact", "synonym", "genus") > 0.3:
        return None
    if profile.share(lambda cell: cells.days(cell, "ymd")[0] > 0) > 0.3 or len(profile.counts) < 3:
        return None
    evidence = f"{share:.1%} of the values are a number and a name, as a house number and a street"
    return Opinion("address", weigh("address", profile, share, 0.55), says("address", profile) + evidence)


def _by_heading(role: str, values: Callable[[Profile], float], evidence: str) -> Judge:
    """A judge for roles that values alone cannot tell: the heading must name it and the values must not deny it."""

    def judge(profile: Profile) -> Opinion | None:
        share = values(profile)
        if not named(role, profile.heading) or share < 0.3:
            return None
        return Opinion(role, weigh(role, profile, share), says(role, profile) + evidence.format(share))

    return judge


def _place(profile: Profile) -> Opinion | None:
    space = profile.space_words
    if profile.numeric > 0.5 or len(profile.counts) > 300:
        return None
    # One word on every row, that names no growing space, tells nothing of a place.
    if space < 0.5 and (named("place", profile.heading) < 0.8 or len(profile.counts) < 2):
        return None
    evidence = f"{space:.1%} of the rows name a growing space"
    return Opinion("place", weigh("place", profile, max(space, 0.6), 0.7), evidence)


def _state(profile: Profile) -> Opinion | None:
    """The state is told by words such as dead and stump; a column of "alive" alone would tell nothing."""
    telling = profile.share(lambda cell: cell.strip().casefold() in ("alive", "dead", "stump", "vacant"))
    if telling < 0.8 or len(profile.counts) > 12:
        return None
    return Opinion(
        "state", weigh("state", profile, telling, 0.8), f"{telling:.1%} of the rows say alive, dead or stump"
    )


def _condition(profile: Profile) -> Opinion | None:
    graded = profile.share(words.grade_of)
    if graded < 0.6 or len(profile.counts) > 60 or profile.numeric > 0.1:
        return None
    evidence = f"{graded:.1%} of the rows grade a condition ({', '.join(profile.examples)})"
    return Opinion("condition", weigh("condition", profile, graded, 0.6), says("condition", profile) + evidence)


def _recommendation(profile: Profile) -> Opinion | None:
    work = profile.share(words.work_of)
    if work < 0.5 or len(profile.counts) > 200:
        return None
    evidence = f"{work:.1%} of the rows name work on trees ({', '.join(profile.examples)})"
    return Opinion("recommendation", weigh("recommendation", profile, max(work, 0.8), 0.6), evidence)


def _street_part(profile: Profile) -> Opinion | None:
    if named("street_part", profile.heading) < 0.9 or profile.numeric > 0.5 or max(map(len, profile.counts)) > 12:
        return None
    return Opinion("street_part", 0.9, says("street_part", profile) + "short words: a part of the street's name")


def _strip(profile: Profile) -> Opinion | None:
    """Two sides or a width in words; without a unit in heading or values it cannot be taken over."""
    share = profile.share(lambda cell: any(map(str.isdigit, cell)))
    if not named("strip_width", profile.heading) or share < 0.5:
        return None
    feet = profile.share(lambda cell: "ft" in cell or "feet" in cell or cell.rstrip().endswith("'"))
    unit, why = unit_in(profile.heading), "the heading gives the unit"
    if not unit and feet:
        unit, why = "ft", f"{feet:.1%} of the values are written with ft"
    confidence = weigh("strip_width", profile, share) if unit else 0.3
    return Opinion("strip_width", confidence, says("strip_width", profile) + (why if unit else "no unit"), unit=unit)


def _words(profile: Profile) -> float:
    return 1.0 - profile.numeric


def _short(profile: Profile) -> float:
    return profile.share(lambda cell: any(map(str.isdigit, cell)) and len(cell) <= 10)


JUDGES: tuple[Judge, ...] = (
    _key,
    _species,
    _genus,
    _common,
    _cultivar,
    *SIZE_JUDGES,
    _dates("planted"),
    _dates("measured"),
    _address,
    _by_heading("street", _words, "{0:.1%} of the values are words"),
    _by_heading("number", _short, "{0:.1%} of the values are short numbers"),
    _place,
    _strip,
    _state,
    _condition,
    _recommendation,
    _street_part,
    _by_heading("note", _words, "{0:.1%} of the values are words"),
)
