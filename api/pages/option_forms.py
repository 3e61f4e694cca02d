"""The forms of options and decisions: what an arborist states of an option, another kind, and who decided for it."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django import forms

from api.pages import choices, words
from api.pages.order_forms import DateInput, take
from assessments import options
from assessments.methods import risk
from assessments.methods.options import ENTRIES
from assessments.methods.rate_card import ACCESS
from assessments.models import Inspection, Option, Rating, required_check
from assessments.option_records import DecisionRecord, OptionRecord, Residual
from assessments.records import AskedCheck
from inventory.problems import Refusal

_SCALES: Final = (("failure", risk.FAILURE), ("impact", risk.IMPACT), ("consequences", risk.CONSEQUENCES))
# A decision may ask for so many checks beside those of its option.
_MORE_CHECKS: Final = 2


def _long(rows: int, **options: Any) -> forms.CharField:
    """A text of some lines."""
    area = forms.Textarea(attrs={"rows": rows, "class": "words"})
    return forms.CharField(widget=area, max_length=20_000, **options)


class AccessForm(forms.Form):
    """How the tree is reached, which sets the rates."""

    access = forms.ChoiceField(
        label="The tree is reached", required=False, choices=[(one, words.say(one)) for one in ACCESS]
    )


class StatedForm(forms.Form):
    """What the arborist states of an option; an empty field leaves the method's figure."""

    act_by = forms.DateField(label="Act by", required=False, widget=DateInput())
    own_cost = forms.DecimalField(label="Your cost now", required=False, min_value=Decimal(0), decimal_places=2)
    own_crew_hours = forms.FloatField(label="Your crew hours", required=False, min_value=0, max_value=10_000)
    note = _long(2, label="Note", required=False)

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["own_cost"].label = f"Your cost now ({currency})"


class OptionEditForm(StatedForm):
    """The same with the words of risk that remain, each beside what the method says, and the reason."""

    version = forms.IntegerField(widget=forms.HiddenInput())
    own_why = _long(2, label="Why your figures or words differ", required=False, help_text="Needed where they do.")
    field_order = ("version", "act_by", "own_cost", "own_crew_hours")

    def __init__(self, *args: Any, option: Option, ratings: Sequence[Rating], currency: str, **kwargs: Any) -> None:
        """`ratings`: those of the inspection with their targets, in the order of their keys."""
        initial = {name: getattr(option, name) for name in ("act_by", "own_cost", "own_crew_hours", "own_why", "note")}
        kwargs["initial"] = initial | {"version": option.version} | kwargs.get("initial", {})
        super().__init__(*args, currency=currency, **kwargs)
        self.ratings = ratings
        said = options.said(option)
        self._method = _by_rating((said.get("method_said") or said).get("residual", ()))
        own = {one["rating"]: one for one in option.own_residual or ()}
        for place, rating in enumerate(ratings):
            self._offer(place, self._method.get(str(rating.uid), {}), own.get(str(rating.uid), {}))
        for name, label in (("own_cost", "cost_now"), ("own_crew_hours", "crew_hours")):
            known = (said.get("method_said") or said).get(label)
            if known is not None:
                self.fields[name].help_text = f"The method: {known:,.0f}" if known >= 10 else f"The method: {known:g}"

    def _offer(self, place: int, method: Mapping[str, Any], own: Mapping[str, Any]) -> None:
        for name, scale in _SCALES:
            known = words.say(method.get(name, ""))
            blank = ("", f"{known} (method)" if known else "Not said by the method")
            self.fields[f"{name}_{place}"] = forms.ChoiceField(
                label=words.say(name),
                required=False,
                choices=[blank, *((word, words.say(word)) for word in scale)],
                initial=own.get(name, ""),
            )

    def residuals(self) -> list[tuple[Rating, list[forms.BoundField]]]:
        """Each rating with its three fields."""
        return [(rating, [self[f"{name}_{place}"] for name, _ in _SCALES]) for place, rating in enumerate(self.ratings)]

    def clean(self) -> dict[str, Any]:
        """Words stated in part are filled up with the method's; where it says none, all three are needed."""
        said = super().clean() or {}
        for place, rating in enumerate(self.ratings):
            given = {name: said.get(f"{name}_{place}", "") for name, _ in _SCALES}
            method = self._method.get(str(rating.uid), {})
            missing = [name for name, word in given.items() if not word and not method.get(name)]
            if any(given.values()) and missing:
                self.add_error(f"{missing[0]}_{place}", "say all three: the method says nothing here")
        return said

    def changes(self) -> dict[str, Any]:
        """What the service takes."""
        said = self.cleaned_data
        stated = tuple(self._residual())
        return {name: said[name] for name in ("note", "act_by", "own_cost", "own_crew_hours", "own_why")} | {
            "own_residual": stated or None
        }

    def _residual(self) -> Iterable[Residual]:
        for place, rating in enumerate(self.ratings):
            given = {name: self.cleaned_data[f"{name}_{place}"] for name, _ in _SCALES}
            if any(given.values()):
                method = self._method.get(str(rating.uid), {})
                yield Residual(rating.uid, **{name: word or str(method[name]) for name, word in given.items()})


def _by_rating(rows: Iterable[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    return {row["rating_uid"]: row for row in rows}


class DropForm(forms.Form):
    """Why an option is taken off the table."""

    version = forms.IntegerField(widget=forms.HiddenInput())
    dropped_why = forms.CharField(label="Why it is dropped", max_length=1000)


class NewOptionForm(StatedForm):
    """Another option: a kind of the catalogue with its settings; the form carries its own `uid`."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    kind = forms.ChoiceField(label="Kind", choices=[("", "Choose"), *((k, one.label) for k, one in ENTRIES.items())])
    percent = forms.FloatField(
        label="Reduction (%)", required=False, help_text="Of the crown's length and width; for a crown reduction."
    )
    months = forms.IntegerField(
        label="Months", required=False, help_text="Until a closure ends, or until the next look."
    )
    species = forms.CharField(
        label="Replacement", required=False, max_length=200, help_text="Botanical name; for a removal."
    )
    targets = forms.MultipleChoiceField(
        label="Only for these targets", required=False, widget=forms.CheckboxSelectMultiple()
    )
    own_why = _long(2, label="Why your figures differ", required=False, help_text="Needed where you state them.")
    field_order = ("uid", "kind", "percent", "months", "species", "targets", "act_by", "own_cost", "own_crew_hours")

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = self.fields["targets"]
        assert isinstance(offered, forms.MultipleChoiceField)  # noqa: S101 - tells the type checker what it is
        offered.choices = [(str(place), one.label) for place, one in enumerate(choices.targets_of(inspection))]

    def record(self) -> OptionRecord:
        """What the service takes; only what was said is a setting."""
        said = self.cleaned_data
        settings = {name: said[name] for name in ("percent", "months", "species") if said[name] not in (None, "")}
        if said["targets"]:
            settings["targets"] = sorted(int(place) for place in said["targets"])
        return OptionRecord(
            parameters=settings,
            **{name: said[name] for name in ("uid", "kind", "note", "act_by", "own_cost", "own_crew_hours", "own_why")},
        )

    def take(self, refusal: Refusal) -> None:
        """Put a refusal at the fields it names."""
        take(self, refusal, "#/parameters/" if "/parameters/" in str(refusal.errors) else "#/")


class CheckForm(forms.Form):
    """A check that a decision commits to; without a kind it is none."""

    kind = forms.ChoiceField(
        label="Check",
        required=False,
        choices=[("", "None"), *((kind, words.say(kind)) for kind in required_check.ASKED_KINDS)],
    )
    due_on = forms.DateField(label="Due on", required=False, widget=DateInput())
    why = forms.CharField(label="Why", required=False, max_length=1000)

    def clean(self) -> dict[str, Any]:
        """A check has its day and its reason."""
        said = super().clean() or {}
        if said.get("kind"):
            for name in ("due_on", "why"):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, "is needed for a check")
        return said


class DecisionForm(forms.Form):
    """Who decided for an option, when, why, under which conditions. Nothing is filled in but today's date."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    decided_by = forms.CharField(label="Who decided", max_length=200, help_text="The owner, or who acts for it.")
    office = forms.CharField(label="Office", max_length=200)
    decided_on = forms.DateField(label="Decided on", widget=DateInput())
    why = _long(3, label="Why")
    conditions = _long(3, label="Under which conditions", required=False)
    accepted_risk = _long(
        3,
        label="Which risk is accepted",
        required=False,
        help_text="In words, where a tree with a known defect is kept.",
    )
    ends_on = forms.DateField(
        label="Holds until",
        required=False,
        widget=DateInput(),
        help_text="On this day the tree is due, and it is decided anew.",
    )
    act_by = forms.DateField(label="Act by", required=False, widget=DateInput())

    def __init__(self, data: Any = None, *, option: Option, today: date) -> None:
        said = options.said(option)
        super().__init__(data, initial={"decided_on": today, "act_by": option.act_by or said.get("act_by")})
        offered = [one for one in said.get("checks", ()) if one["due_on"] >= today.isoformat()]
        self.checks = [
            CheckForm(data, prefix=f"check-{place}", initial=one)
            for place, one in enumerate([*offered, *({} for _ in range(_MORE_CHECKS))])
        ]

    def whole(self) -> bool:
        """Whether the form and all its checks are valid."""
        return all([self.is_valid(), *(one.is_valid() for one in self.checks)])

    def record(self) -> DecisionRecord:
        """What the service takes."""
        asked = [one.cleaned_data for one in self.checks if one.cleaned_data.get("kind")]
        checks = tuple(AskedCheck(one["kind"], one["due_on"], one["why"]) for one in asked)
        return DecisionRecord(**self.cleaned_data, checks=checks)

    def take(self, refusal: Refusal) -> None:
        """Put a refusal at the fields it names, those of the checks among them."""
        rows = [one for one in self.checks if one.cleaned_data.get("kind")]
        for error in refusal.errors:
            place = error.pointer.removeprefix("#/").split("/")
            if place[0] == "checks" and len(place) == 3 and place[2] in CheckForm.base_fields:
                rows[int(place[1])].add_error(place[2], error.detail)
            else:
                self.add_error(place[0] if place[0] in self.fields else None, error.detail)
        if not refusal.errors:
            self.add_error(None, refusal.detail)
