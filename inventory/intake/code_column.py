"""Finds the column of a file that holds the city's codes of species: short texts, each beside one name."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Final

from inventory.intake.codes import LONGEST, PURE, taxon_key
from inventory.intake.headings import named
from inventory.intake.sampled import Sample
from inventory.intake.weigh import Opinion
from inventory.intake.words import NOTHING

# The project's choice: so many codes there are at least.
FEWEST: Final = 4
# How well a heading names codes before digits alone, or a column without names beside it, are believed.
SURE: Final = 0.6
NAME_ROLES: Final = ("species", "genus", "epithet", "common")


def settle(seen: Sample) -> list[str]:
    """Find the column of codes among those not taken; return what a person should know about it."""
    headings = [heading for role in NAME_ROLES if (heading := seen.of(role))]
    if not headings:
        return _alone(seen)
    rows = zip(*(seen.column(heading) for heading in headings), strict=True)
    names = [" ".join(part.strip() for part in row).strip() for row in rows]
    for heading in seen.free():
        codes = [cell.strip() for cell in seen.column(heading)]
        share, kinds = _one_to_one(codes, names) if _like_codes(seen, heading) else (0.0, 0)
        if share >= PURE:
            told = f"{kinds} short texts, each beside one name on {share:.1%} of the rows: the city's codes of species"
            seen.chosen[heading] = Opinion("code", 0.9, told)
            alone = sum(bool(code) and not name for code, name in zip(codes, names, strict=True))
            return (
                [f"{alone:,} rows of the sample have a code and no name: it is learned from the rest"] if alone else []
            )
    return []


def _alone(seen: Sample) -> list[str]:
    """A column that a heading names codes, in a file without names."""
    for heading in seen.free():
        if named("code", heading) >= SURE and _like_codes(seen, heading):
            seen.chosen[heading] = Opinion(
                "code", 0.6, f"the heading {heading!r} names codes of species; no name beside"
            )
            return [f"{heading!r} holds codes of species and no column names them: give a table of the codes"]
    return []


def _like_codes(seen: Sample, heading: str) -> bool:
    """Whether the texts of a column are short, without spaces, and few enough to stand again and again."""
    counts = seen.profile(heading).counts
    filled = sum(counts.values())
    short = sum(n for text, n in counts.items() if len(text.strip()) <= LONGEST and " " not in text.strip())
    digits = sum(n for text, n in counts.items() if not any(map(str.isalpha, text)))
    lettered = digits <= 0.2 * filled or named("code", heading) >= SURE
    return len(counts) >= FEWEST and short >= 0.98 * filled and lettered and filled >= 2 * len(counts)


def _one_to_one(codes: Sequence[str], names: Sequence[str]) -> tuple[float, int]:
    """The share of rows on which a code stands for its name and a name has its code; and how many codes there are."""
    pairs = Counter((c, taxon_key(n)) for c, n in zip(codes, names, strict=True) if c and n.casefold() not in NOTHING)
    by_code: dict[str, int] = defaultdict(int)
    by_name: dict[str, int] = defaultdict(int)
    for (code, name), n in pairs.items():
        by_code[code], by_name[name] = max(by_code[code], n), max(by_name[name], n)
    total = sum(pairs.values())
    if not total or min(len(by_code), len(by_name)) < FEWEST:
        return 0.0, 0
    return min(sum(by_code.values()), sum(by_name.values())) / total, len(by_code)
