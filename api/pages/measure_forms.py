"""The form of a measured stem: when, what it looks into, readings row by row, openings, cracks, voids, crown."""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any, Final

from django import forms
from django.utils import timezone

from api.pages import words
from api.pages.names import label, path
from assessments.methods import tables
from assessments.methods.wind import SHAPES
from assessments.models import Finding
from assessments.records import FindingRecord, InspectionRecord, SectionRecord, StemLoadRecord
from inventory.problems import FieldProblem, Refusal

# What a section may look into; and what a new decay was found by, by how its wall was measured.
HOLLOW: Final = ("cavity", "decay")
_NEW: Final = "decay"
_FOUND_BY: Final = {"drilling": "drilling", "acoustic": "tomogram", "probe": "probe", "sounding": "hollow_sound"}
_WAYS: Final = [(row["method"], row["label"]) for row in tables.read("reading_errors")]
# Columns of the tables, how many rows at first, how many more at a time.
ROWS: Final[Mapping[str, tuple[tuple[str, ...], int, int]]] = {
    "readings": (("azimuth_deg", "sound_wall_cm", "void_to_cm"), 8, 8),
    "openings": (("azimuth_deg", "width_cm", "depth_cm"), 1, 2),
    "cracks": (("azimuth_deg", "gap_to_edge_cm", "inner_radius_cm"), 1, 2),
}
_MOST_ROWS: Final = 48
_SIZES: Final = ("height_m", "diameter_cm", "girth_cm", "bark_cm")
_LOAD: Final = (
    ("crown_base_m",), ("crown_width_m",), ("height_m",), ("lean", "angle_deg"), ("lean", "azimuth_deg"),
    ("crown_offset", "distance_m"), ("crown_offset", "azimuth_deg"), ("reduction", "length_percent"),
    ("reduction", "width_percent"),
)  # fmt: skip
_LONGEST: Final = 30
_MOST_CHARACTERS: Final = 100_000


def _number(said: str, help_text: str = "", **more: Any) -> forms.CharField:
    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=said, help_text=help_text, required=False, max_length=_LONGEST, widget=widget, **more)


class MeasureForm(forms.Form):
    """What was measured at one height of a stem. After `is_valid`, `record` makes the record of an inspection of it."""

    uid = forms.UUIDField(widget=forms.HiddenInput)
    seen_on = forms.DateField(label="Measured on", widget=forms.DateInput(attrs={"type": "date"}))
    about = forms.ChoiceField(label="What the section looks into")
    again = forms.MultipleChoiceField(
        label="Seen again, unchanged",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="This is an inspection of the whole tree: what is not ticked counts as not there any more.",
    )
    limits = forms.CharField(label="Limits of this inspection", required=False, max_length=500)

    def __init__(self, data: Any = None, *, defects: Sequence[Finding], today: date, **more: Any) -> None:
        first = {"uid": uuid.uuid4(), "seen_on": today, "again": [str(one.uid) for one in defects]}
        super().__init__(data, initial=first | more.pop("initial", {}), **more)
        self.today, self.defects = today, {str(one.uid): one for one in defects}
        hollow = [one for one in defects if one.kind in HOLLOW]
        self.fields["about"].choices = [  # type: ignore[attr-defined]
            *((str(one.uid), f"{_said(one)}, seen before") for one in hollow),
            (_NEW, "Decay of the stem, found for the first time"),
            ("", "No weakness: the stem is looked into all the same"),
        ]
        self.fields["about"].required = False
        self.fields["again"].choices = [(uid, _said(one)) for uid, one in self.defects.items()]  # type: ignore[attr-defined]
        self._measures()
        self._crown()

    def _measures(self) -> None:
        """The fields of the section."""
        about = {"height_m": "Above ground.", "diameter_cm": "Over bark; or the girth.", "bark_cm": "Single thickness."}
        for name in _SIZES:
            self.fields[name] = _number(label(name), about.get(name, ""))
        self.fields["method"] = forms.ChoiceField(label="How the walls were measured", choices=_WAYS)
        for noun, (columns, _, _) in ROWS.items():
            for place in range(self.rows_of(noun)):
                for column in columns:
                    self.fields[f"{noun}-{place}-{column}"] = _number(f"{label(column)}, row {place + 1}")
        drawn = {
            "outline_cm": "Instead of a diameter: the outline over bark",
            "voids_cm": "Voids drawn from a cut face",
        }
        for name, said in drawn.items():
            self.fields[name] = forms.CharField(
                label=f"{said} (cm)",
                required=False,
                max_length=_MOST_CHARACTERS,
                widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
                help_text="A point each line: east, north. An empty line begins the next void."
                if name == "voids_cm"
                else "A point each line: east, north.",
            )

    def _crown(self) -> None:
        """The fields of the stem load; filled with nothing, there is none."""
        for steps in _LOAD:
            self.fields["load-" + "-".join(steps)] = _number(path(steps))
        shapes = [("", "not given"), *((shape, shape.replace("_", " ")) for shape in SHAPES)]
        self.fields["load-crown_shape"] = forms.ChoiceField(
            label="Crown seen from the side", required=False, choices=shapes
        )

    def rows_of(self, noun: str) -> int:
        """How many rows a table has: those sent, and more where they were asked for."""
        _, first, more = ROWS[noun]
        if not self.data:
            return first
        sent = str(self.data.get(f"{noun}-rows", first))
        count = min(int(sent), _MOST_ROWS) if sent.isascii() and sent.isdigit() else first
        return min(count + more * (f"more-{noun}" in self.data), _MOST_ROWS)

    def table(self, noun: str) -> list[list[forms.BoundField]]:
        """The rows of a table."""
        columns = ROWS[noun][0]
        return [[self[f"{noun}-{n}-{column}"] for column in columns] for n in range(self.rows_of(noun))]

    @property
    def drawn_filled(self) -> bool:
        """Whether any shape was drawn."""
        return any(self.data.get(one.html_name) for one in self.drawn)

    @property
    def crown_filled(self) -> bool:
        """Whether any of the stem load was given."""
        return any(self.data.get(one.html_name) for one in self.crown)

    @property
    def parts(self) -> list[tuple[str, int, list[str], list[list[forms.BoundField]]]]:
        """The tables: noun, number of rows, headings, rows."""
        return [(noun, self.rows_of(noun), [label(one) for one in ROWS[noun][0]], self.table(noun)) for noun in ROWS]

    @property
    def sizes(self) -> list[forms.BoundField]:
        """The fields of the section that are no table."""
        return [self[name] for name in (*_SIZES, "method")]

    @property
    def drawn(self) -> list[forms.BoundField]:
        """The fields for drawn shapes."""
        return [self[name] for name in ("outline_cm", "voids_cm")]

    @property
    def crown(self) -> list[forms.BoundField]:
        """The fields of the stem load."""
        return [self[name] for name in self.fields if name.startswith("load-")]

    def measured(self) -> dict[str, Any]:
        """The request of methods/section."""
        said: dict[str, Any] = {name: self._value(name) for name in _SIZES}
        for noun in ROWS:
            said[noun] = [row for _, row in self._filled(noun)]
        for row in said["readings"]:
            row["method"] = self.cleaned_data["method"]
        rings = _rings(self.cleaned_data["voids_cm"])
        outline = _rings(self.cleaned_data["outline_cm"])
        said |= {"outline_cm": outline[0] if outline else None, "voids_cm": rings}
        return {name: value for name, value in said.items() if value not in (None, [])}

    def _filled(self, noun: str) -> Iterator[tuple[int, dict[str, Any]]]:
        """The rows of a table in which anything is written, each with its place on the page."""
        for place in range(self.rows_of(noun)):
            names = {column: self._value(f"{noun}-{place}-{column}") for column in ROWS[noun][0]}
            if row := {column: value for column, value in names.items() if value is not None}:
                yield place, row

    def _value(self, name: str) -> Any:
        """A number where one can be read; else the text, which the method refuses at its place; None for nothing."""
        typed = str(self.cleaned_data.get(name) or "").strip()
        if not typed:
            return None
        try:
            return float(typed.replace(",", ".") if typed.count(",") == 1 and "." not in typed else typed)
        except ValueError:
            return typed

    def _load(self) -> StemLoadRecord | None:
        said: dict[str, Any] = {}
        for steps in _LOAD:
            value = self._value("load-" + "-".join(steps))
            if value is not None:
                inner = said
                for step in steps[:-1]:
                    inner = inner.setdefault(step, {})
                inner[steps[-1]] = value
        if shape := self.cleaned_data["load-crown_shape"]:
            said["crown_shape"] = shape
        return StemLoadRecord(said) if said else None

    def record(self) -> InspectionRecord:
        """The record of an advanced inspection with this section, and with the stem load where any of it is given."""
        about = self.cleaned_data["about"]
        again = [self.defects[uid] for uid in self.cleaned_data["again"] if uid != about]
        findings = [*self._about(about), *(_continued(one) for one in again)]
        section = SectionRecord(self.measured(), finding=0 if about else None)
        return InspectionRecord(
            uid=self.cleaned_data["uid"],
            inspected_at=self._instant(),
            level="advanced",
            trigger="follow_up",
            limits=self.cleaned_data["limits"],
            findings=tuple(findings),
            sections=(section,),
            stem_load=self._load(),
        )

    def _about(self, about: str) -> Iterator[FindingRecord]:
        if about in self.defects:
            yield _continued(self.defects[about])
        elif about:
            height = self._value("height_m")
            at = height if isinstance(height, float) else None
            found_by = {"indicator": _FOUND_BY.get(self.cleaned_data["method"], "probe")}
            yield FindingRecord(kind=_NEW, part="stem", height_m=at, measures=found_by)

    def _instant(self) -> datetime:
        """When it was measured: midday, so that the same form says the same however often it is sent."""
        return timezone.make_aware(datetime.combine(self.cleaned_data["seen_on"], time(12)))

    def tell(self, refusal: Refusal) -> None:
        """Show a refusal at the fields that it names."""
        for error in refusal.errors:
            self.add_error(*self._told(error))
        if not refusal.errors:
            self.add_error(None, refusal.detail)

    def _told(self, error: FieldProblem) -> tuple[str | None, str]:
        steps = [step for step in error.pointer.removeprefix("#").split("/") if step]
        if steps[:2] == ["sections", "0"]:
            name = self._place(steps[2:])
        elif steps[:1] == ["stem_load"]:
            name = next((n for k in (3, 2) if (n := "load-" + "-".join(steps[1:k])) in self.fields), "")
        else:
            name = {"inspected_at": "seen_on", "findings": "about"}.get(steps[0] if steps else "", "")
        if name in self.fields:
            return name, error.detail
        return None, f"{' '.join(step.replace('_', ' ') for step in steps)}: {error.detail}".removeprefix(": ")

    def _place(self, steps: Sequence[str]) -> str:
        """The field of a member of the section; rows are counted without the empty ones."""
        if len(steps) > 1 and steps[0] in ROWS and steps[1].isdigit():
            places = [place for place, _ in self._filled(steps[0])]
            row, column = int(steps[1]), steps[2] if len(steps) > 2 else ROWS[steps[0]][0][0]
            return f"{steps[0]}-{places[row] if row < len(places) else row}-{column}"
        return steps[0] if steps else ""


def _said(one: Finding) -> str:
    return f"{words.finding_kind(one.kind)} at the {words.part(one.part).lower()}"


def _continued(one: Finding) -> FindingRecord:
    """A finding of before, seen again: all but the wall, which was measured then and not now."""
    measures = {name: value for name, value in one.measures.items() if name != "shell_cm"}
    return FindingRecord(
        kind=one.kind,
        part=one.part,
        part_diameter_cm=one.part_diameter_cm,
        height_m=one.height_m,
        azimuth_deg=one.azimuth_deg,
        measures=measures,
        fungus_genus=one.fungus_genus,
        fungus_confidence=one.fungus_confidence or "",
        continues=one.uid,
    )


def _rings(typed: str) -> list[list[Any]]:
    """Rings of points, a point each line, an empty line between rings; what is no number is the method's to refuse."""
    rings: list[list[Any]] = [[]]
    for line in typed.replace("\r", "").split("\n"):
        if line.strip():
            rings[-1].append([_point(cell) for cell in line.replace(";", ",").split(",")])
        elif rings[-1]:
            rings.append([])
    return [ring for ring in rings if ring]


def _point(cell: str) -> Any:
    try:
        return float(cell)
    except ValueError:
        return cell.strip()
