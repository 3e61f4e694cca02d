"""Judges what a column is, by its values first and its heading second; each says why in words.

The weights are the project's choice (common practice, no source): heading and values that agree are near certain,
values alone may decide, a heading against its values does not.
"""

from collections.abc import Callable, Iterable
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.intake import cells, words
from inventory.intake.addresses import house_number
from inventory.intake.damage import is_damaged
from inventory.intake.headings import named, unit_in
from inventory.intake.profile import Profile
from inventory.intake.roles import DATES
from inventory.intake.sizes import SIZE_JUDGES
from inventory.intake.table import Floats
from inventory.intake.weigh import Judge, Opinion, says, weigh

DECIDES = 0.5
FEW_ROWS = 100
LAST_DAY = date(2200, 1, 1).toordinal()
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


def _damaged(profile: Profile) -> Opinion | None:
    """Names of which a part is damaged: where the heading says species, the rest are names and so many are digits."""
    broken = profile.share(is_damaged)
    if broken < 0.05 or not named("species", profile.heading) or profile.numeric > 0.1:
        return None
    known = profile.named("exact", "synonym", "genus", "common")
    if known + broken < 0.5 or len(profile.counts) < 5:
        return None
    told = f"{known:.1%} of the rows are names of trees, and on {broken:.1%} digits stand in place of a name: damaged"
    return Opinion("species", 0.55, told)


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
        forms = sorted(((form, _known_days(profile, form, role)) for form in DATES), key=lambda found: -len(found[1]))
        form, days = forms[0]
        share = len(days) / len(profile.cells)
        years = days / 365.2425
        known = np.array([]) if not len(days) else years[~_placeholders(days)]
        if share < 0.8 or not len(known) or np.percentile(known, 1) < 1700 or np.percentile(known, 99) > 2101:
            return None
        if set(map(len, profile.counts)) <= {1, 4, 6} and not named(role, profile.heading):
            return None  # four digits alone may be anything
        form = "year" if share and max(map(len, profile.counts)) <= 6 and form not in COUNTED else form
        low, high = np.percentile(known, [5, 95])
        wide = high - low > 6
        if (role == "planted") != wide and not named(role, profile.heading):
            return None
        shape = "spread over decades, as plantings are" if wide else "close together, as a survey is"
        evidence = f"{share:.1%} dates{COUNTED.get(form, '')}, most of {low:.0f} to {high:.0f}: {shape}"
        rival = ""
        if {forms[0][0], forms[1][0]} == {"dmy", "mdy"} and len(forms[1][1]) == len(days):
            evidence, rival = evidence + "; day and month could be the other way round: no day over 12 tells", "mdy"
        return Opinion(role, weigh(role, profile, share), says(role, profile) + evidence, format=form, rival=rival)

    return judge


COUNTED = {
    "serial": " as a spreadsheet counts days (1 is 31 December 1899)",
    "epoch": " as seconds since 1970",
    "epoch_ms": " as milliseconds since 1970",
}


def _known_days(profile: Profile, form: str, role: str) -> Floats:
    """The days of a column in a form; plain numbers are days only where the heading says so, or in milliseconds."""
    if form in COUNTED:
        about = {"serial": (15_000, 60_000), "epoch": (1e8, 5e9), "epoch_ms": (5e9, 5e12)}[form]
        middle = float(np.median(np.abs(profile.numbers))) if profile.numeric > 0.8 else 0.0
        told = named(role, profile.heading) >= 0.5 or (form == "epoch_ms" and _whole_hours(profile))
        if not (about[0] <= middle <= about[1] and told):
            return np.zeros(0)
    return profile.days(form)


def _whole_hours(profile: Profile) -> bool:
    """Whether numbers are milliseconds of whole hours, as dates that were made into them are."""
    large = profile.numbers[np.abs(profile.numbers) > 1e10]
    return len(large) > 0.5 * len(profile.cells) and bool(np.mean(large % 3_600_000 == 0) > 0.9)


def _placeholders(days: Floats) -> NDArray[np.bool_]:
    """The days that mean unknown."""
    odd = [day.toordinal() for day in cells.PLACEHOLDERS]
    return np.asarray(np.isin(days, odd) | (days > LAST_DAY) | (days < 366))


def _address(profile: Profile) -> Opinion | None:
    share = profile.share(lambda cell: bool(cells.address(cell)[0]) and len(cell.split()) > 1)
    if share < 0.5 or profile.numeric > 0.2 or profile.named("exact", "synonym", "genus") > 0.3:
        return None
    if profile.share(lambda cell: cells.days(cell, "ymd")[0] > 0) > 0.3 or len(profile.counts) < 3:
        return None
    evidence = f"{share:.1%} of the values are a number and a name, as a house number and a street"
    return Opinion("address", weigh("address", profile, share, 0.55), says("address", profile) + evidence)


def _street(profile: Profile) -> Opinion | None:
    """Names of streets by their words; else by the heading, where the values are words at all."""
    named_so = profile.share(words.is_street) if profile.numeric < 0.5 else 0.0
    if named_so >= 0.5 and len(profile.counts) >= 3 and not named("species", profile.heading):
        numbered = profile.share(lambda cell: bool(cells.address(cell)[0]) and len(cell.split()) > 1)
        if numbered < 0.5 or named("street", profile.heading):
            evidence = f"{says('street', profile)}{named_so:.1%} of the values are names of streets"
            return Opinion("street", weigh("street", profile, max(named_so, 0.95), 0.65), evidence)
    return _by_heading("street", _words, "{0:.1%} of the values are words")(profile)


def _number(profile: Profile) -> Opinion | None:
    """House numbers under a heading that names them, or under one that names the address and has nothing else."""
    if profile.rows >= FEW_ROWS and profile.key_unique > 0.9 and profile.filled > 0.9:
        return None  # no two trees at one house
    found = _by_heading("number", _short, "{0:.1%} of the values are short numbers")(profile)
    share = profile.share(house_number)
    if found or share < 0.5 or not named("address", profile.heading) or len(profile.counts) < 5:
        return found
    told = f"the heading {profile.heading!r} names an address and {share:.1%} of the values are house numbers"
    return Opinion("number", 0.6, told)


def _by_heading(role: str, values: Callable[[Profile], float], evidence: str) -> Judge:
    """A judge for roles that values alone cannot tell: the heading must name it and the values must not deny it."""

    def judge(profile: Profile) -> Opinion | None:
        share = values(profile)
        if not named(role, profile.heading) or share < 0.3:
            return None
        return Opinion(role, weigh(role, profile, share), says(role, profile) + evidence.format(share))

    return judge


def _place(profile: Profile) -> Opinion | None:
    space, where = profile.space_words, profile.share(words.tells_where)
    if profile.numeric > 0.5 or len(profile.counts) > 300:
        return None
    # One word on every row, that names no growing space, tells nothing of a place.
    if max(space, where) < 0.5 and (named("place", profile.heading) < 0.8 or len(profile.counts) < 2):
        return None
    if where > space and (len(profile.counts) < 2 or profile.share(words.is_street) > 0.5):
        return None
    evidence = f"{space:.1%} of the rows name a growing space"
    evidence += f" and {where:.1%} where by street or plot the tree stands" if where > space else ""
    return Opinion("place", weigh("place", profile, max(space, where, 0.6), 0.7), evidence)


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


def _age(profile: Profile) -> Opinion | None:
    """A stage of life in words, or years under a heading that says age."""
    staged = profile.share(words.stage_of)
    years = profile.numeric > 0.9 and named("age", profile.heading) >= 0.5 and bool(np.median(profile.numbers) < 300)
    if not years and (staged < 0.6 or len(profile.counts) > 30):
        return None
    told = f"{staged:.1%} of the rows name a stage of life" if staged >= 0.6 else "numbers as ages in years or classes"
    return Opinion("age", weigh("age", profile, max(staged, 0.8), 0.6), f"{says('age', profile)}{told}")


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
    _damaged,
    _genus,
    _common,
    _cultivar,
    *SIZE_JUDGES,
    _dates("planted"),
    _dates("measured"),
    _address,
    _street,
    _number,
    _place,
    _strip,
    _state,
    _condition,
    _recommendation,
    _age,
    _street_part,
    _by_heading("note", _words, "{0:.1%} of the values are words"),
)
