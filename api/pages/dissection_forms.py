"""The forms of an opened stem: the dissection as a whole, and one cut of it, typed in under a minute."""

import json
import uuid
from typing import Any, Final

from django import forms

from api.pages import words
from api.pages.order_forms import DateInput
from assessments.models import Dissection, dissection
from inventory.problems import FieldProblem, Invalid, Refusal

REASON_WORDS: Final = {
    "predicted_weakness": "It was judged to be weak",
    "storm_failure": "It failed in a storm",
    "construction": "Construction",
    "utility": "A utility line",
    "pest": "A pest or disease",
    "random_sample": "Removed for another reason, drawn by lot to be opened",
}
CRACKS: Final = (0, 1, 2)
_USUAL_CM: Final = 15.0
# The parts of a cut as they are sent, each with its fields on the form: void by name, crack by number.
_VOID: Final = ("share_percent", "diameter_cm", "azimuth_deg", "offset_cm")
_CRACK: Final = ("azimuth_deg", "gap_to_edge_cm", "run_cm")


class DissectionForm(forms.Form):
    """The felled stem as a whole. The form carries its own `uid`, so that a form sent twice records one."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    felled_on = forms.DateField(label="Felled on", widget=DateInput())
    dissected_on = forms.DateField(label="Opened on", widget=DateInput())
    reason = forms.ChoiceField(
        label="Why it was removed",
        choices=[("", "Choose"), *((one, REASON_WORDS[one]) for one in dissection.REASONS)],
        help_text="What was really the reason: it decides what can be learnt.",
    )
    stump_height_m = forms.FloatField(
        label="Stump height (m)", required=False, help_text="The first cut counts from here."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 2, "class": "words"})
    )
    cuts = forms.CharField(
        label="Cuts as JSON",
        required=False,
        max_length=400_000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text="A list of cuts as the interface takes them; leave it empty to type them one by one.",
    )

    def sent(self) -> dict[str, Any]:
        """The dissection as the interface takes it. Raises Invalid for cuts that are no JSON list."""
        said = self.cleaned_data
        stump = said["stump_height_m"]
        return {
            **{name: str(said[name]) for name in ("uid", "felled_on", "dissected_on", "reason", "note")},
            **({} if stump is None else {"stump_height_m": stump}),
            "cuts": _cuts(said["cuts"]),
        }


def _cuts(text: str) -> list[Any]:
    if not text.strip():
        return []
    try:
        found = json.loads(text)
    except ValueError as error:
        raise Invalid.field("#/cuts", f"is not JSON: {error}") from error
    if not isinstance(found, list):
        raise Invalid.field("#/cuts", "must be a list of cuts")
    return found


def take(form: forms.Form, refusal: Refusal) -> None:
    """Put a refusal of a dissection at its field; what is wrong with a cut names the cut."""
    for error in refusal.errors:
        name, *rest = error.pointer.removeprefix("#/").split("/")
        where = (
            f"cut {int(rest[0]) + 1}, {' '.join(rest[1:])}: " if name == "cuts" and rest and rest[0].isdigit() else ""
        )
        form.add_error(name if name in form.fields else None, f"{where}{error.detail}")
    if not refusal.errors:
        form.add_error(None, refusal.detail)


def _number(label: str, **options: Any) -> forms.FloatField:
    entry = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.FloatField(label=label, required=False, widget=entry, **options)


class CutForm(forms.Form):
    """One cut: where it is, how wide, what is hollow or decayed, which cracks. The least is a place and a diameter."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    above_last_cm = _number("Above the last cut (cm)")
    height_m = _number("Or above ground (m)")
    diameter_cm = _number("Diameter over bark (cm)")
    diameter2_cm = _number("Across it (cm)")
    bark_cm = _number("Bark (cm)")
    cavities_share_percent = _number("Cavity (% of the face)")
    cavities_diameter_cm = _number("Or its diameter (cm)")
    cavities_azimuth_deg = _number("Toward (°)")
    cavities_offset_cm = _number("Off the middle (cm)")
    decay_share_percent = _number("Decay (% of the face)")
    decay_diameter_cm = _number("Or its diameter (cm)")
    decay_azimuth_deg = _number("Toward (°)")
    decay_offset_cm = _number("Off the middle (cm)")
    insects = forms.BooleanField(label="Insects", required=False)
    roots_inside = forms.BooleanField(label="Roots inside", required=False)
    note = forms.CharField(label="Note", required=False, max_length=500)
    photo = forms.FileField(
        label="Photo of the face",
        required=False,
        max_length=200,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )

    def __init__(self, *args: Any, dissection: Dissection, **kwargs: Any) -> None:
        """The next cut is offered 15 cm above the highest one."""
        self.last_m = last_height(dissection)
        kwargs.setdefault("initial", {"above_last_cm": f"{_USUAL_CM:g}"})
        super().__init__(*args, **kwargs)
        for number in CRACKS:
            self.fields[f"crack{number}_azimuth_deg"] = _number("Crack toward (°)")
            self.fields[f"crack{number}_gap_to_edge_cm"] = _number("Gap to the edge (cm)")
            self.fields[f"crack{number}_run_cm"] = _number("Runs inward (cm)")

    def cracks(self) -> list[list[forms.BoundField]]:
        """The fields of each crack."""
        return [[self[f"crack{number}_{name}"] for name in _CRACK] for number in CRACKS]

    def voids(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields of cavity and decay."""
        return [(part, [self[f"{part}_{name}"] for name in _VOID]) for part in ("cavities", "decay")]

    def sent(self) -> dict[str, Any]:
        """The cut as the interface takes it, at its height above ground. Raises Invalid where it has no place."""
        said = self.cleaned_data
        height = said["height_m"]
        if height is None and said["above_last_cm"] is None:
            raise Invalid.fields([FieldProblem("#/above_last_cm", "say where the cut is")])
        if height is None:
            height = round(self.last_m + said["above_last_cm"] / 100, 4)
        plain = ("diameter_cm", "diameter2_cm", "bark_cm", "insects", "roots_inside", "note")
        cut: dict[str, Any] = {name: said[name] for name in plain if said[name] not in (None, "", False)}
        for part in ("cavities", "decay"):
            if found := _given(said, part, _VOID):
                cut[part] = [found]
        cracks = [_given(said, f"crack{number}", _CRACK) for number in CRACKS]
        if any(cracks):
            cut["cracks"] = [one for one in cracks if one]
        return {"uid": str(said["uid"]), "height_m": height, **cut}

    def take(self, refusal: Refusal) -> None:
        """Put a refusal at the fields it names."""
        for error in refusal.errors:
            self.add_error(self._named(error.pointer.removeprefix("#/").split("/")), error.detail)
        if not refusal.errors:
            self.add_error(None, refusal.detail)

    def _named(self, at: list[str]) -> str | None:
        part, name = at[0], at[-1]
        number = int(at[1]) if len(at) > 1 and at[1].isdigit() else 0
        given = [one for one in CRACKS if _given(self.cleaned_data, f"crack{one}", _CRACK)]
        crack = f"crack{given[number]}_{name}" if part == "cracks" and number < len(given) else ""
        tried = (crack, f"{part}_{name}", name, f"cavities_{name}", "height_m" if name == "cuts" else "")
        return next((one for one in tried if one in self.fields), None)


def _given(said: dict[str, Any], part: str, names: tuple[str, ...]) -> dict[str, float]:
    found = {name: said.get(f"{part}_{name}") for name in names}
    return {name: value for name, value in found.items() if value is not None}


def last_height(dissection: Dissection) -> float:
    """The height of the highest cut, else that of the stump, in m."""
    cuts = [cut.height_m for cut in dissection.cuts.all()]
    return max(cuts) if cuts else float(dissection.measured.get("stump_height_m") or 0.0)


def reason(code: str) -> str:
    """The words for a reason of removal."""
    return REASON_WORDS.get(code) or words.say(code)
