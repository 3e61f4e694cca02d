"""The rate card as tables, and the form that adopts a new one: pasted or uploaded, each wrong value named."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django import forms

from api.pages import words
from assessments.methods.rate_card import ACCESS, ACTIONS, SIZES
from inventory.problems import Invalid

# The members of a card as they are offered to be edited, its rates after them.
_IN_ORDER: Final = ("currency", "size_from_cm", "assumptions", "appraisal", "notes")
MOST_BYTES: Final = 200_000
ACTION_WORDS: Final = {
    "inspect": "Inspect",
    "diagnose": "Diagnose with instruments",
    "restrict_target": "Restrict or move the target",
    "close_target": "Close the area",
    "remove_part": "Remove a part",
    "reduce_crown": "Reduce the crown",
    "install_support": "Install a support",
    "veteran_care": "Care for a veteran",
    "habitat_stem": "Reduce to a habitat stem",
    "remove": "Fell",
    "grind_stump": "Grind the stump",
    "plant": "Plant",
    "water": "Water for a year",
}
_ASSUMED_WORDS: Final = {
    "horizon_years": ("Horizon", "years"),
    "discount_rate_percent": ("Discount rate", "% a year"),
    "reduction_percent": ("Usual crown reduction", "% of length and width"),
    "repeat_years": ("Reduction repeated every", "years"),
    "regrowth_m_a_year": ("Regrowth", "m a year"),
    "closure_months": ("A closure lasts", "months"),
    "replant_delay_years": ("Replanted after", "years"),
}


@dataclass(frozen=True)
class Table:
    """The rates of one action: a row a size class, in each the cost and crew hours by access."""

    action: str
    rows: tuple[tuple[str, tuple[Mapping[str, float], ...]], ...]


@dataclass(frozen=True)
class Card:
    """A rate card as the page shows it."""

    currency: str
    tables: tuple[Table, ...]
    sizes: tuple[tuple[str, float], ...]
    assumed: tuple[tuple[str, float, str], ...]
    appraisal: Mapping[str, float] | None
    notes: tuple[tuple[str, str], ...]


def shown(data: Mapping[str, Any]) -> Card:
    """Show a stored card, which was checked when it was adopted."""
    given = data.get("assumptions") or {}
    return Card(
        currency=data["currency"],
        tables=tuple(_table(action, data["actions"][action]) for action in ACTIONS),
        sizes=tuple((words.say(size), data["size_from_cm"][size]) for size in SIZES),
        assumed=tuple(
            (said, given[name], _unit(given[name], unit))
            for name, (said, unit) in _ASSUMED_WORDS.items()
            if name in given
        ),
        appraisal=data.get("appraisal"),
        notes=tuple((words.say(name), note) for name, note in (data.get("notes") or {}).items()),
    )


def _unit(value: float, unit: str) -> str:
    """A unit that is counted: one year, two years."""
    return unit.removesuffix("s") if value == 1 and unit in ("years", "months") else unit


def _table(action: str, sizes: Mapping[str, Any]) -> Table:
    rows = tuple((words.say(size), tuple(sizes[size][access] for access in ACCESS)) for size in SIZES)
    return Table(ACTION_WORDS[action], rows)


class CardForm(forms.Form):
    """A card to be adopted: a file, else what stands in the field."""

    file = forms.FileField(
        label="A JSON file",
        required=False,
        widget=forms.FileInput(attrs={"accept": "application/json,.json"}),
        help_text="It takes the place of the text below.",
    )
    card = forms.CharField(
        label="Or the card as JSON",
        required=False,
        max_length=MOST_BYTES,
        widget=forms.Textarea(attrs={"rows": 18, "spellcheck": "false"}),
    )
    why = forms.CharField(
        label="Why it is changed", max_length=2000, widget=forms.Textarea(attrs={"rows": 2, "class": "words"})
    )

    def data_sent(self) -> Mapping[str, Any]:
        """The card that was sent. Raises Invalid where it is no JSON object."""
        text = self.cleaned_data["card"]
        if upload := self.cleaned_data["file"]:
            if upload.size > MOST_BYTES:
                raise Invalid.field("#/file", f"has {upload.size:,} bytes; at most {MOST_BYTES:,} are read")
            try:
                text = upload.read().decode("utf-8-sig")
            except UnicodeDecodeError as error:
                raise Invalid.field("#/file", "is not UTF-8 text") from error
        field = "file" if upload else "card"
        try:
            found = json.loads(text)
        except (ValueError, RecursionError) as error:
            raise Invalid.field(f"#/{field}", f"is not JSON: {error}") from error
        if not isinstance(found, dict):
            raise Invalid.field(f"#/{field}", "must be a JSON object")
        return found

    def take(self, refusal: Invalid) -> None:
        """Put a refusal at its field; a wrong value of the card is named by its place in it."""
        for error in refusal.errors:
            name, *place = error.pointer.removeprefix("#/").split("/")
            if name == "rate_card":
                self.add_error("file" if self.cleaned_data.get("file") else "card", _placed(place, error.detail))
            else:
                self.add_error(name if name in self.fields else None, error.detail)


def _placed(place: list[str], detail: str) -> str:
    where = " › ".join(place)
    return f"{where}: {detail}" if where else detail


def text_of(data: Mapping[str, Any]) -> str:
    """A card as JSON to be edited: one line a size class."""
    whole = {name: data[name] for name in _IN_ORDER if name in data}
    actions = [
        f'    "{action}": {{\n'
        + ",\n".join(f'      "{size}": {json.dumps(data["actions"][action][size])}' for size in SIZES)
        + "\n    }"
        for action in ACTIONS
    ]
    head = json.dumps(whole, indent=2, ensure_ascii=False).removesuffix("\n}")
    return head + ',\n  "actions": {\n' + ",\n".join(actions) + "\n  }\n}"
