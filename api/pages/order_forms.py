"""The forms of the order pages; each turns what was typed into a record that the works room takes."""

import uuid
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from api.pages import words
from api.pages.filters import ANY
from assessments.models import Finding
from assessments.works import states
from assessments.works.records import ItemWish, ReportRecord, VerdictRecord
from inventory import queries
from inventory.models import Tree
from inventory.models.support import KINDS as SUPPORT_KINDS
from inventory.people.models import Organisation
from inventory.problems import Refusal


def contractors() -> list[tuple[str, str]]:
    """The contractors that take orders now, as choices."""
    found = Organisation.objects.filter(kind="contractor", ended_on=None).order_by("name")
    return [(str(pk), name) for pk, name in found.values_list("pk", "name")]


def contractor(pk: str) -> Organisation | None:
    """The organisation chosen, or None."""
    return Organisation.objects.filter(pk=int(pk)).first() if pk.isdigit() else None


class DateInput(forms.DateInput):
    """The browser's own date field."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


class OrderFilter(forms.Form):
    """Which orders to list."""

    state = forms.ChoiceField(
        label="State", required=False, choices=[ANY, *((s, words.say(s)) for s in states.ORDER_STATES)]
    )
    contractor = forms.ChoiceField(label="Contractor", required=False)

    def __init__(self, data: Any, *, with_contractor: bool) -> None:
        super().__init__(data, auto_id="filter_%s")
        if with_contractor:
            self.fields["contractor"] = forms.ChoiceField(
                label="Contractor", required=False, choices=[ANY, *contractors()]
            )
        else:
            del self.fields["contractor"]


class DraftForm(forms.Form):
    """The head of a new order."""

    contractor = forms.ChoiceField(label="Contractor", required=False)
    due_on = forms.DateField(label="Due on", widget=DateInput())
    action = forms.ChoiceField(
        label="The same action for every tree",
        required=False,
        choices=[("", "Chosen tree by tree"), *states.ACTIONS.items()],
    )
    instructions = forms.CharField(
        label="Instructions",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3, "class": "words"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["contractor"] = forms.ChoiceField(
            label="Contractor", required=False, choices=[("", "To be named when it is issued"), *contractors()]
        )
        self.fields["instructions"].wide = True  # type: ignore[attr-defined]


class WishForm(forms.Form):
    """One row of a new order: what to do with one tree, and why."""

    tree = forms.UUIDField(widget=forms.HiddenInput())
    action = forms.ChoiceField(label="Action", required=False, choices=[("", "As above"), *states.ACTIONS.items()])
    finding = forms.ChoiceField(label="Because of", required=False)
    reason = forms.CharField(label="Reason", required=False, max_length=1000)
    due_on = forms.DateField(label="Due on", required=False, widget=DateInput())

    def __init__(self, *args: Any, subject: Tree, findings: Sequence[Finding], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.subject = subject
        seen = [
            (str(f.uid), f"{words.finding_kind(f.kind)}, {words.part(f.part).lower()} ({f.inspection.inspected_on})")
            for f in findings
        ]
        self.fields["finding"] = forms.ChoiceField(
            label="Because of", required=False, choices=[("", "No single finding"), *seen]
        )
        self.fields["reason"].help_text = "Left empty: the risk, the finding and the date."

    def wish(self, action: str) -> ItemWish:
        """The wish, with the action of the whole order where the row has none."""
        found = self.cleaned_data
        finding = uuid.UUID(found["finding"]) if found["finding"] else None
        return ItemWish(found["tree"], found["action"] or action, found["reason"], found["due_on"], finding)


class IssueForm(forms.Form):
    """To whom a draft goes."""

    contractor = forms.ChoiceField(label="Contractor")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["contractor"] = forms.ChoiceField(label="Contractor", choices=contractors())


class CancelForm(forms.Form):
    """Why an order is cancelled."""

    reason = forms.CharField(label="Why it is cancelled", max_length=1000)


class ReportForm(forms.Form):
    """What the contractor reports of one item. The key makes a second click harmless."""

    uid = forms.UUIDField(widget=forms.HiddenInput())
    outcome = forms.ChoiceField(label="Outcome", choices=[("done", "Done"), ("not_possible", "Not possible")])
    worked_at = forms.DateTimeField(
        label="When", widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    )
    reason = forms.CharField(label="Why not possible", required=False, max_length=1000)
    stump_ground = forms.BooleanField(label="The stump is ground out too", required=False)
    support_kind = forms.ChoiceField(
        label="Support", required=False, choices=[("", "-"), *((k, words.say(k)) for k in SUPPORT_KINDS)]
    )
    support_height_m = forms.FloatField(label="Height of the support (m)", required=False)
    species = forms.CharField(label="Species planted (botanical name)", required=False, max_length=200)
    note = forms.CharField(label="Note", required=False, max_length=2000)

    def __init__(self, *args: Any, action: str, now: datetime, **kwargs: Any) -> None:
        zone = ZoneInfo(queries.municipality().time_zone)
        kwargs.setdefault("initial", {"uid": uuid.uuid4(), "worked_at": now.astimezone(zone).replace(tzinfo=None)})
        super().__init__(*args, **kwargs)
        self._zone = zone
        belongs = {
            "stump_ground": "remove",
            "support_kind": "install_support",
            "support_height_m": "install_support",
            "species": "plant",
        }
        for name, to in belongs.items():
            if action != to:
                del self.fields[name]

    def record(self) -> ReportRecord:
        """The report, its time taken as the municipality's."""
        found = self.cleaned_data
        worked_at = found["worked_at"].replace(tzinfo=self._zone)
        done = found["outcome"] == "done"
        return ReportRecord(
            uid=found["uid"],
            outcome=found["outcome"],
            worked_at=worked_at,
            reason=found["reason"],
            note=found["note"],
            stump_ground=done and bool(found.get("stump_ground")),
            support_kind=(found.get("support_kind") or None) if done else None,
            support_height_m=found.get("support_height_m") if done else None,
            species=(found.get("species") or None) if done else None,
        )


class VerdictForm(forms.Form):
    """What the municipality decides of reported work."""

    uid = forms.UUIDField(widget=forms.HiddenInput())
    verdict = forms.ChoiceField(
        label="Verdict",
        choices=[
            ("accepted", "Accept the work"),
            ("returned", "Return it to the contractor"),
            ("not_done", "Agree that it stays undone"),
        ],
    )
    note = forms.CharField(
        label="Note", required=False, max_length=2000, help_text="Needed unless the work is accepted."
    )
    tree_stands = forms.BooleanField(
        label="The tree was not felled: it still stands",
        required=False,
        help_text="Of a felling that is returned.",
    )

    def __init__(self, *args: Any, action: str, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"uid": uuid.uuid4()})
        super().__init__(*args, **kwargs)
        if action != "remove":
            del self.fields["tree_stands"]

    def record(self) -> VerdictRecord:
        """The verdict, holding from now."""
        found = self.cleaned_data
        stands = found["verdict"] == "returned" and bool(found.get("tree_stands"))
        return VerdictRecord(found["uid"], found["verdict"], found["note"], tree_stands=stands)


def take(form: forms.Form, refusal: Refusal, under: str = "#/") -> None:
    """Put what a service refused at the fields it names; what it names nowhere goes above the form."""
    for error in refusal.errors:
        name = error.pointer.removeprefix(under).split("/")[0]
        form.add_error(name if name in form.fields else None, error.detail)
    if not refusal.errors:
        form.add_error(None, refusal.detail)


def default_due(today: date) -> date:
    """A month from today: a start for the eye, not a rule."""
    return date.fromordinal(today.toordinal() + 30)
