"""Mappings kept under a name and taken again: which of them, and which of earlier loads, fit a file's headings."""

import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from inventory import events
from inventory.history import Author
from inventory.intake import mapping as mappings
from inventory.intake.mapping import Mapping
from inventory.intake.own_words import folded
from inventory.intake.read import Source
from inventory.models import IntakeLoad, IntakeMapping
from inventory.problems import Invalid, Missing

LONGEST_NAME = 100
# So many headings of both files together must be the same before one's mapping is offered for the other.
ALIKE = 0.6
LOADS, OFFERED = 20, 5


@dataclass(frozen=True)
class Fit:
    """A mapping that may do for a file: `alike` is the share of headings that both have, of all that either has."""

    kind: str  # saved, load
    uid: uuid.UUID
    name: str
    at: datetime
    alike: float
    headings: int
    shared: int


def save(author: Author, name: str, mapping: Mapping, headings: Iterable[str] = ()) -> IntakeMapping:
    """Keep a mapping under a name; one that has the name is replaced. Raises Invalid.

    `headings`: all of the file that it was made on; those that it maps where they are not given.
    """
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME:
        raise Invalid.field("#/name", f"give it a name of at most {LONGEST_NAME} characters")
    if not name.isprintable():
        raise Invalid.field("#/name", "must not hold control characters")
    values = {
        "mapping": mappings.write(mapping),
        "headings": sorted({folded(one) for one in (*headings, *(c.heading for c in mapping.columns))}),
        "saved_by_id": author.user_id,
        "saved_at": timezone.now(),
    }
    with author.acting("mapping saved"):
        kept, _ = IntakeMapping.objects.update_or_create(name=name, defaults=values)
        kept.refresh_from_db()
        events.record(author, "intake.mapping_saved", "intake_mapping", kept.uid, data={"name": name})
    return kept


def remove(author: Author, uid: uuid.UUID) -> None:
    """Forget a mapping; loads made by it keep theirs. Raises Missing."""
    with author.acting("mapping removed"):
        kept = one(uid)
        events.record(author, "intake.mapping_removed", "intake_mapping", kept.uid, data={"name": kept.name})
        kept.delete()


def every() -> QuerySet[IntakeMapping]:
    """All that are kept, by name."""
    return IntakeMapping.objects.select_related("saved_by")


def one(uid: uuid.UUID) -> IntakeMapping:
    """One of them. Raises Missing."""
    found = every().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no saved mapping {uid}")
    return found


def named(name: str) -> IntakeMapping:
    """The one of this name. Raises Missing."""
    found = every().filter(name=" ".join(name.replace("\0", "").split())).first()
    if found is None:
        raise Missing(f"no mapping is kept under the name {name!r:.120}")
    return found


def fitted(mapping: Mapping, source: Source) -> Mapping:
    """A kept mapping for another file: taken apart as that file is, without the columns that it lacks and the day.

    Raises Invalid where what is left is no mapping: without the places, say.
    """
    here = {folded(heading): heading for heading in source.columns}
    columns = tuple(
        replace(column, heading=here[folded(column.heading)])
        for column in mapping.columns
        if folded(column.heading) in here
    )
    found = replace(mapping, layout=source.layout, columns=columns, measured_on=None)
    return mappings.from_dict(mappings.to_dict(found))


def fitting(headings: Iterable[str]) -> list[Fit]:
    """The kept mappings, and those of the latest loads, that were made for such headings; the likest first."""
    here = {folded(heading) for heading in headings}
    fits = [fit for fit in (_fit(here, *about) for about in _candidates()) if fit.alike >= ALIKE]
    # Of the same likeness a kept one comes before an old load, and the newer before the older.
    fits.sort(key=lambda fit: (-fit.alike, fit.kind != "saved", -fit.at.timestamp()))
    return fits[:OFFERED]


_About = tuple[str, uuid.UUID, str, datetime, set[str]]


def _candidates() -> Iterator[_About]:
    for kept in IntakeMapping.objects.all():
        yield "saved", kept.uid, kept.name, kept.saved_at, set(kept.headings)
    for load in IntakeLoad.objects.filter(state="loaded").order_by("-id")[:LOADS]:
        columns = mappings.parse(load.mapping).columns
        yield "load", load.uid, load.file_name, load.loaded_at, {folded(column.heading) for column in columns}


def _fit(here: set[str], kind: str, uid: uuid.UUID, name: str, at: datetime, there: set[str]) -> Fit:
    shared = len(here & there)
    return Fit(kind, uid, name, at, shared / max(len(here | there), 1), len(here), shared)
