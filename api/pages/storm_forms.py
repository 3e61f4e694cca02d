"""The forms of a storm and of a failure: what the interface takes, typed."""

import uuid
from collections.abc import Iterable
from typing import Any, Final

from django import forms

from api.pages import words
from api.pages.order_forms import DateInput
from assessments.methods import risk
from assessments.methods.catalogue import PARTS
from assessments.models import Finding, Storm, failure
from inventory.problems import FieldProblem, Invalid

_ASKABLE: Final = (("moderate", "Moderate or worse"), ("high", "High or worse"))


def _text(label: str, rows: int = 2, **options: Any) -> forms.CharField:
    entry = forms.Textarea(attrs={"rows": rows, "class": "words"})
    return forms.CharField(label=label, required=False, max_length=2000, widget=entry, **options)


class StormForm(forms.Form):
    """A storm. The form carries its own `uid`, so that a form sent twice records one."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    name = forms.CharField(label="Name", max_length=200)
    began_on = forms.DateField(label="Began on", widget=DateInput())
    ended_on = forms.DateField(label="Ended on", widget=DateInput())
    gust_m_s = forms.FloatField(
        label="Largest gust in the city (m/s)",
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        help_text="Of 3 seconds, at 10 m above ground.",
    )
    gust_source = forms.CharField(
        label="Where the gusts are from", max_length=300, required=False, help_text="The station or the service."
    )
    gusts = _text("Gusts by zone, one a line", help_text="The zone's code and its gust in m/s, such as: Z1 27.5")
    note = _text("Note")
    ask = forms.BooleanField(
        label="Ask for trees to be looked at", required=False, help_text="Nothing is asked for unless you tick this."
    )
    least_risk = forms.ChoiceField(label="Trees rated", choices=_ASKABLE, required=False)
    due_on = forms.DateField(label="To be seen by", widget=DateInput(), required=False)

    def sent(self) -> dict[str, Any]:
        """The storm as the interface takes it. Raises Invalid for a line of gusts that is none."""
        said = self.cleaned_data
        body = {name: said[name] for name in ("name", "gust_m_s", "gust_source", "note")}
        body |= {name: str(said[name]) for name in ("uid", "began_on", "ended_on")}
        if said["ask"] and not said["due_on"]:
            raise Invalid.field("#/due_on", "say by when they must be seen")
        asked = {"due_on": str(said["due_on"]), "least_risk": said["least_risk"] or "moderate"} if said["ask"] else None
        return body | {"gusts": _gusts(said["gusts"]), "ask_checks": asked}


def _gusts(text: str) -> list[dict[str, Any]]:
    """Each line: a zone's code, a blank, a number."""
    found, wrong = [], []
    for line in text.splitlines():
        code, _, figure = line.strip().rpartition(" ")
        try:
            found.append({"zone": code.strip(), "gust_m_s": float(figure.replace(",", "."))})
        except ValueError:
            wrong.append(line.strip())
        if found and not found[-1]["zone"]:
            wrong.append(line.strip())
    wrong = [line for line in wrong if line]
    if wrong:
        raise Invalid.fields([FieldProblem("#/gusts", f"is no code and gust: {line[:60]}") for line in wrong[:5]])
    return found


class FailureForm(forms.Form):
    """A failure of one tree. The form carries its own `uid`, so that a form sent twice records one."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    part = forms.ChoiceField(
        label="What failed", choices=[("", "Choose"), *((code, one.label) for code, one in PARTS.items())]
    )
    happened_from = forms.DateField(label="On, or not before", widget=DateInput())
    happened_to = forms.DateField(
        label="Not after", widget=DateInput(), required=False, help_text="Leave it empty where the day is known."
    )
    storm = forms.ChoiceField(label="In which storm", required=False)
    finding = forms.ChoiceField(label="The weakness that failed", required=False)
    struck = forms.ChoiceField(
        label="What it struck", choices=[("", "Choose"), *((code, words.say(code)) for code in failure.STRUCK)]
    )
    damage = forms.ChoiceField(
        label="How badly",
        required=False,
        choices=[("", "It struck nothing"), *((code, words.say(code)) for code in risk.CONSEQUENCES)],
    )
    seen_by = forms.CharField(label="Who saw it, or how it is known", max_length=200)
    note = _text("Note")

    def __init__(self, *args: Any, storms: Iterable[Storm], findings: Iterable[Finding], **kwargs: Any) -> None:
        """`storms`: those it may have been in; `findings`: of the tree, the newest first."""
        super().__init__(*args, **kwargs)
        blew = [(str(one.uid), f"{one.name}, {one.began_on}") for one in storms]
        seen = [
            (str(one.uid), f"{words.finding_kind(one.kind)}, {words.part(one.part).lower()}, "
             f"{one.inspection.inspected_on}") for one in findings
        ]  # fmt: skip
        self.fields["storm"].choices = [("", "None, or not known"), *blew]  # type: ignore[attr-defined]
        self.fields["finding"].choices = [("", "None, or not known"), *seen]  # type: ignore[attr-defined]

    def sent(self) -> dict[str, Any]:
        """The failure as the interface takes it."""
        said = self.cleaned_data
        dates = {name: str(said[name]) if said[name] else None for name in ("happened_from", "happened_to")}
        named = {name: said[name] or None for name in ("storm", "finding", "damage")}
        plain = {name: said[name] for name in ("part", "struck", "seen_by", "note")}
        return plain | dates | named | {"uid": str(said["uid"])}
