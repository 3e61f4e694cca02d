"""Looks at a file never seen before and suggests what each column means, how sure that is, and by what evidence."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from inventory.geo.crs import WGS84
from inventory.intake import addresses, by_species, code_column, graded, places, settling
from inventory.intake.glance import Glance, glance
from inventory.intake.judges import DECIDES, opinions
from inventory.intake.mapping import Column, Mapping, to_dict, write
from inventory.intake.names import Catalogue
from inventory.intake.places import Placing
from inventory.intake.profile import Profile
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source, sample
from inventory.intake.relate import relate, same_system
from inventory.intake.roles import ROLES, SIZES
from inventory.intake.sample_map import SampleMap, sample_map
from inventory.intake.sampled import Sample
from inventory.intake.weigh import Opinion
from inventory.intake.words import NOTHING

# One name in full says more than a genus alone; roles that say the same thing do not stand side by side.
PREFERRED = {"species": 0.2}
EXCLUDES: dict[str, tuple[str, ...]] = {
    "species": ("genus", "epithet"),
    "genus": ("species",),
    "epithet": ("species",),
    "dbh": ("girth", "radius"),
    "crown": ("crown_radius",),
    "crown_radius": ("crown",),
    "girth": ("dbh", "radius"),
    "radius": ("dbh", "girth"),
    "address": ("street", "number"),
    "street": ("address",),
    "number": ("address",),
}
# Rows looked at, spread over the file: more would tell nothing more.
SAMPLE = 20_000
TOGETHER = (("epithet", "genus"), ("number", "street"), ("street_part", "street"))


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
    # How many rows were looked at; what each column's values look like; where the rows lie.
    sampled: int = 0
    glances: tuple[Glance, ...] = ()
    map: SampleMap | None = None

    def as_dict(self) -> dict[str, Any]:
        """As JSON: the mapping in the form that check and load take."""
        return {
            "file": self.name,
            "sha256": self.sha256,
            "rows": self.rows,
            "mapping": to_dict(self.mapping),
            "columns": [
                asdict(column) | {"glance": seen.as_dict()}
                for column, seen in zip(self.columns, self.glances, strict=True)
            ],
            "doubts": self.doubts,
            "sampled": self.sampled,
            "map": self.map.as_dict() if self.map else None,
        }

    def as_toml(self) -> str:
        """As MAP.toml: the evidence stands above each column."""
        remarks = {c.heading: f"{c.confidence:.0%} sure: {c.evidence}" for c in self.columns}
        return write(self.mapping, remarks)


def survey(
    source: Source, names: Catalogue, progress: Progress = silent, near: tuple[float, float] | None = None
) -> Survey:
    """Suggest a mapping. Raises Invalid where the file breaks; what it cannot tell becomes a doubt, not an error.

    `near` (longitude, latitude) is where the city's trees stand: it settles systems that the file does not name.
    """
    cells, rows = sample(source, SAMPLE)
    profiles = _profiles(source.columns, cells, names)
    placing = places.place(source.columns, cells, source.declared, near)
    opinions_of: dict[str, list[Opinion]] = {}
    for place, profile in enumerate(profiles):
        progress(place, len(profiles), "surveying")
        placed = placing.opinions.get(profile.heading) if placing else None
        opinions_of[profile.heading] = [placed] if placed else opinions(profile, profiles)
    conflicts = relate(profiles, cells, opinions_of)
    _sized_by_species(profiles, cells, opinions_of)
    chosen = _choose(opinions_of)
    same_system(chosen, opinions_of, DECIDES)
    seen = Sample(profiles, cells, chosen, opinions_of, *((placing.crs, placing.taken_for) if placing else ()))
    settled = [*graded.settle(seen), *settling.sizes(seen, conflicts)]
    settling.planting(seen)
    addresses.settle(seen)
    settled += code_column.settle(seen)
    remarks = dict(placing.remarks) if placing else {}
    suggestions = [_suggestion(p, opinions_of[p.heading], chosen, remarks.get(p.heading, "")) for p in profiles]
    mapping = _mapping(source, suggestions, profiles, placing)
    doubts = [*_doubts(suggestions), *(placing.doubts if placing else ()), *settled]
    glances = tuple(glance(profile, said.format) for profile, said in zip(profiles, suggestions, strict=True))
    on_map = sample_map(source.columns, cells, mapping)
    sampled = len(cells[0]) if cells else 0
    return Survey(source.name, source.sha256, rows, mapping, suggestions, doubts, sampled, glances, on_map)


def _sized_by_species(
    profiles: Sequence[Profile], cells: Sequence[list[str]], opinions_of: dict[str, list[Opinion]]
) -> None:
    """Where no heading names a stem's size: the column that is larger on species of larger stems, if there is one."""
    roles = {opinion.role for found in opinions_of.values() for opinion in found}
    if roles & {"dbh", "girth", "radius", "dbh_class"}:
        return
    named = next((p for p in profiles if any(o.role == "species" for o in opinions_of[p.heading])), None)
    if named is None:
        return
    species = cells[[profile.heading for profile in profiles].index(named.heading)]
    pairs = zip(profiles, cells, strict=True)
    free = [(p.heading, p.decimal, column) for p, column in pairs if not opinions_of[p.heading]]
    found = by_species.stem(species, free, named.names)
    if found:
        opinions_of[found[0]] = [found[1]]


def _profiles(headings: list[str], columns: list[list[str]], names: Catalogue) -> list[Profile]:
    distinct = len(set(zip(*columns, strict=True))) if columns else 0
    profiles = []
    for heading, column in zip(headings, columns, strict=True):
        filled = [cell for cell in column if cell.strip().casefold() not in NOTHING]
        profiles.append(Profile(heading, len(column), filled, names, distinct))
    return profiles


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
    for needy, needed in TOGETHER:
        if needy in taken and needed not in taken:
            chosen = {heading: opinion for heading, opinion in chosen.items() if opinion.role != needy}
    return chosen


def _suggestion(profile: Profile, found: list[Opinion], chosen: dict[str, Opinion], remark: str) -> Suggestion:
    nothing = "no value" if not profile.cells else "neither the heading nor the values tell a role"
    opinion = chosen.get(profile.heading)
    if opinion is None and remark:
        nothing = remark
    elif opinion is None and found:
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


def _mapping(
    source: Source, suggestions: Sequence[Suggestion], profiles: Sequence[Profile], placing: Placing | None
) -> Mapping:
    columns = tuple(Column(s.heading, s.role, s.unit, s.format) for s in suggestions)
    numeric = {"latitude", "longitude", "northing", "easting", *SIZES}
    signs = [p.decimal for p, s in zip(profiles, suggestions, strict=True) if s.role in numeric]
    sign = "," if signs.count(",") > len(signs) / 2 else "."
    crs, taken_for = (placing.crs, placing.taken_for) if placing else (WGS84, 0)
    return Mapping(source.layout, columns, crs, sign, taken_for=taken_for)


def _doubts(suggestions: Sequence[Suggestion]) -> list[str]:
    """What a person must settle before the file can be loaded, or should look at."""
    roles = {suggestion.role for suggestion in suggestions}
    doubts = []
    if not {"point", "latitude", "northing"} & roles:
        doubts.append("no coordinates were found: map latitude and longitude, or a point column")
    if not {"species", "genus", "common", "code"} & roles:
        doubts.append("no column names the species")
    if "key" not in roles:
        doubts.append("no column is a key: the next file of this city cannot find its trees again")
    doubts += [
        f"{s.heading!r} as {s.role} is only {s.confidence:.0%} sure: {s.evidence}"
        for s in suggestions
        if s.role != "ignored" and s.confidence < 0.75
    ]
    return doubts
