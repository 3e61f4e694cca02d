"""Looks at a file never seen before and suggests what each column means, how sure that is, and by what evidence."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from inventory.intake.cells import NOTHING
from inventory.intake.judges import DECIDES, Opinion, opinions
from inventory.intake.mapping import Column, Mapping, to_dict, write
from inventory.intake.names import Catalogue
from inventory.intake.profile import Profile
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source, sample
from inventory.intake.roles import ROLES, SIZES

# One name in full says more than a genus alone; roles that say the same thing do not stand side by side.
PREFERRED = {"species": 0.2}
EXCLUDES: dict[str, tuple[str, ...]] = {
    "species": ("genus", "epithet"),
    "genus": ("species",),
    "epithet": ("species",),
    "latitude": ("point",),
    "longitude": ("point",),
    "point": ("latitude", "longitude"),
    "dbh": ("girth",),
    "girth": ("dbh",),
    "address": ("street", "number"),
    "street": ("address",),
    "number": ("address",),
}
# Rows looked at, spread over the file: more would tell nothing more.
SAMPLE = 20_000
TOGETHER = (("latitude", "longitude"), ("epithet", "genus"), ("number", "street"))


@dataclass(frozen=True)
class Suggestion:
    """One column: its suggested role with unit and form, the confidence (0 to 1), the evidence, what it looks like."""

    heading: str
    role: str
    confidence: float
    evidence: str
    unit: str
    format: str
    filled: float
    distinct: int
    examples: list[str]
    others: list[str]


@dataclass(frozen=True)
class Survey:
    """The whole file as understood."""

    name: str
    sha256: str
    rows: int
    mapping: Mapping
    columns: list[Suggestion]
    doubts: list[str]

    def as_dict(self) -> dict[str, Any]:
        """As JSON: the mapping in the form that check and load take."""
        return {
            "file": self.name,
            "sha256": self.sha256,
            "rows": self.rows,
            "mapping": to_dict(self.mapping),
            "columns": [asdict(column) for column in self.columns],
            "doubts": self.doubts,
        }

    def as_toml(self) -> str:
        """As MAP.toml: the evidence stands above each column."""
        remarks = {c.heading: f"{c.confidence:.0%} sure: {c.evidence}" for c in self.columns}
        return write(self.mapping, remarks)


def survey(source: Source, names: Catalogue, progress: Progress = silent) -> Survey:
    """Suggest a mapping. Raises Invalid where the file breaks; what it cannot tell becomes a doubt, not an error."""
    cells, rows = sample(source, SAMPLE)
    profiles = []
    for heading, column in zip(source.columns, cells, strict=True):
        filled = [cell for cell in column if cell.strip().casefold() not in NOTHING]
        profiles.append(Profile(heading, len(column), filled, names))
    opinions_of: dict[str, list[Opinion]] = {}
    for place, profile in enumerate(profiles):
        progress(place, len(profiles), "surveying")
        opinions_of[profile.heading] = opinions(profile, profiles)
    chosen = _choose(opinions_of)
    suggestions = [_suggestion(profile, opinions_of[profile.heading], chosen) for profile in profiles]
    mapping = _mapping(source, suggestions, profiles)
    return Survey(source.name, source.sha256, rows, mapping, suggestions, _doubts(suggestions))


def _choose(opinions_of: dict[str, list[Opinion]]) -> dict[str, Opinion]:
    """Give each column one role and each role one column, the surest opinions first."""
    every = [(heading, opinion) for heading, found in opinions_of.items() for opinion in found]
    every.sort(key=lambda pair: -(pair[1].confidence + PREFERRED.get(pair[1].role, 0.0)))
    chosen: dict[str, Opinion] = {}
    taken: set[str] = set()
    for heading, opinion in every:
        role = opinion.role
        free = ROLES[role].several or role not in taken
        if (
            opinion.confidence >= DECIDES
            and heading not in chosen
            and free
            and taken.isdisjoint(EXCLUDES.get(role, ()))
        ):
            chosen[heading] = opinion
            taken.add(role)
    for needy, needed in (*TOGETHER, ("longitude", "latitude")):
        if needy in taken and needed not in taken:
            chosen = {heading: opinion for heading, opinion in chosen.items() if opinion.role != needy}
    return chosen


def _suggestion(profile: Profile, found: list[Opinion], chosen: dict[str, Opinion]) -> Suggestion:
    nothing = "no value" if not profile.cells else "neither the heading nor the values tell a role"
    opinion = chosen.get(profile.heading)
    if opinion is None and found:
        best = found[0]
        nothing = f"could be {best.role} ({best.confidence:.0%}: {best.evidence}), not sure enough or taken already"
    opinion = opinion or Opinion("ignored", 0.0, nothing)
    return Suggestion(
        profile.heading,
        opinion.role,
        round(opinion.confidence, 2),
        opinion.evidence,
        opinion.unit,
        opinion.format,
        round(profile.filled, 4),
        len(profile.counts),
        [example[:60] for example in profile.examples],
        [other.role for other in found if other.role != opinion.role],
    )


def _mapping(source: Source, suggestions: Sequence[Suggestion], profiles: Sequence[Profile]) -> Mapping:
    columns = tuple(Column(s.heading, s.role, s.unit, s.format) for s in suggestions)
    numeric = {"latitude", "longitude", *SIZES}
    signs = [p.decimal for p, s in zip(profiles, suggestions, strict=True) if s.role in numeric]
    return Mapping(source.layout, columns, decimal="," if signs.count(",") > len(signs) / 2 else ".")


def _doubts(suggestions: Sequence[Suggestion]) -> list[str]:
    """What a person must settle before the file can be loaded, or should look at."""
    roles = {suggestion.role for suggestion in suggestions}
    doubts = []
    if "point" not in roles and not {"latitude", "longitude"} <= roles:
        doubts.append("no coordinates were found: map latitude and longitude, or a point column")
    if not {"species", "genus", "common"} & roles:
        doubts.append("no column names the species")
    if "key" not in roles:
        doubts.append("no column is a key: the next file of this city cannot find its trees again")
    doubts += [
        f"{s.heading!r} as {s.role} is only {s.confidence:.0%} sure: {s.evidence}"
        for s in suggestions
        if s.role != "ignored" and s.confidence < 0.75
    ]
    return doubts
