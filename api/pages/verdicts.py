"""The verdicts of a check or a load as a page shows them: by reason with what follows from it, then row by row."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from django import forms
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.safestring import SafeString

from api.pages import charts, paging
from inventory.intake.checks import BY_NAME, CHECKS
from inventory.intake.queries import ReasonCount
from inventory.models import IntakeCheckRow, IntakeVerdict

Row: TypeAlias = IntakeVerdict | IntakeCheckRow
PLACES: Final = ("latitude", "longitude", "northing", "easting", "point")
NAMES: Final = ("species", "genus", "epithet", "cultivar", "common", "code")
VERDICTS: Final = ("accepted", "warned", "refused")
# Which cells a check is about, by the beginning of its name; the first that fits counts.
ABOUT: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    ("dbh", ("dbh", "girth", "radius", "dbh_class", "girth_class", *NAMES)),
    ("height", ("height", "height_class", *NAMES)),
    ("crown_base", ("crown_base",)),
    ("below_crown_base", ("height", "crown_base")),
    ("crown", ("crown", "crown_radius")),
    ("planted", ("planted",)),
    ("measured", ("measured",)),
    ("strip", ("strip_width",)),
    ("key", ("key",)),
    ("other_values", ("key",)),
    ("same", ("key",)),
    *((name, PLACES) for name in ("coordinates", "no_coordinates", "far", "several_on_one_point", "near_duplicate")),
    *(
        (name, NAMES)
        for name in ("no_species", "species", "genus", "synonym", "common", "corrected", "settled", "code")
    ),
    *((name, ("state", "condition", *NAMES)) for name in ("stump", "vacant", "removed")),
)


@dataclass(frozen=True)
class Reason:
    """One reason with its share of the rows, what follows from it, and its first examples."""

    name: str
    severity: str
    title: str
    rows: int
    bar: SafeString
    follows: str
    examples: Sequence[tuple[int, str]]


@dataclass(frozen=True)
class Told:
    """One row: what was said of it, the cells that it was said about, and all others."""

    line: int
    verdict: str
    details: Sequence[str]
    about: list[tuple[str, str]]
    others: list[tuple[str, str]]


class Filter(forms.Form):
    """Which rows to list."""

    reason = forms.ChoiceField(label="Reason", required=False)
    verdict = forms.ChoiceField(label="Verdict", required=False)
    line = forms.IntegerField(label="From line", required=False, min_value=1, max_value=2_000_000_000)

    def __init__(self, data: Any, reasons: Iterable[ReasonCount], verdicts: Iterable[tuple[str, str]]) -> None:
        super().__init__(data, auto_id="filter_%s")
        choices = {"reason": [(one.name, f"{one.title} ({one.rows:,})") for one in reasons], "verdict": list(verdicts)}
        for name, offered in choices.items():
            chosen = self.fields[name]
            assert isinstance(chosen, forms.ChoiceField)  # noqa: S101 - tells the type checker what it is
            chosen.choices = [("", "Any" if name == "reason" else "Refused or warned of"), *offered]


def asked(request: HttpRequest) -> tuple[str, str]:
    """The reason and the verdict to filter by; what there is not filters nothing."""
    reason, verdict = request.GET.get("reason", ""), request.GET.get("verdict", "")
    return reason if reason in BY_NAME else "", verdict if verdict in VERDICTS else ""


def reasons(found: Iterable[ReasonCount], rows: int) -> list[Reason]:
    """The reasons with bars to the scale of all rows of the file."""
    return [
        Reason(one.name, one.severity, one.title, one.rows, charts.bar(one.rows, rows), follows(one.name), one.examples)
        for one in found
    ]


def follows(name: str) -> str:
    """What becomes of a row that a check finds.

    >>> follows("no_coordinates")
    'The row is left out and kept here with its cells.'
    """
    check = BY_NAME[name]
    if check.severity == "refuse":
        return "The row is left out and kept here with its cells."
    if check.severity == "note":
        return "Taken over; nothing to do."
    if check.unset or "-> unknown" in check.reason or check.reason.endswith("unknown"):
        return "Taken over; the value becomes unknown."
    if name == "corrected":
        return "Taken over under the corrected name; the text is kept."
    return "Taken over as the file has it; a person should look."


def counts(of: Mapping[str, int], examples: Mapping[str, Sequence[tuple[int, str]]]) -> list[ReasonCount]:
    """The reasons of a check that keeps its counts, in the order of the table of checks."""
    return [
        ReasonCount(check.name, check.severity, check.title, of[check.name], list(examples.get(check.name, ())))
        for check in CHECKS
        if of.get(check.name)
    ]


def listed(request: HttpRequest, rows: "QuerySet[Any]", roles: Mapping[str, str]) -> "paging.Page[Any]":
    """A page of rows, from a line on where that is asked for; `roles`: what each heading means."""
    line = request.GET.get("line", "")
    if line.isascii() and line.isdigit() and len(line) < 10:
        rows = rows.filter(line__gte=int(line))
    found = paging.by_key(rows, paging.cursor(request))
    return paging.Page([told(row, roles) for row in found.rows], found.after, found.first, found.count)


def told(row: Row, roles: Mapping[str, str]) -> Told:
    """A row with the cells that its reasons are about first."""
    about = {role for reason in row.reasons for role in _about(reason)}
    cells = [(heading, str(value)) for heading, value in row.cells.items()]
    return Told(
        row.line,
        row.verdict,
        row.details,
        [cell for cell in cells if roles.get(cell[0]) in about],
        [cell for cell in cells if roles.get(cell[0]) not in about],
    )


def _about(reason: str) -> tuple[str, ...]:
    return next((roles for start, roles in ABOUT if reason.startswith(start)), ())
