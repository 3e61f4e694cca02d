"""The forms of a tree's record: a photo, and the written report of an inspection."""

import uuid
from typing import Any

from django import forms

from assessments.models.tree_report import PAPERS
from assessments.report.document.services import ReportRecord
from inventory.attachments.services import Photo

_PAPER_WORDS = {"a4": "A4", "letter": "Letter"}


class PhotoForm(forms.Form):
    """A photo of a tree. The form carries its own `uid`, so that a form sent twice adds one photo."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    file = forms.FileField(
        label="Photo",
        max_length=200,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        help_text="JPEG, PNG or WebP. What the file says of the camera and its owner is dropped.",
    )
    caption = forms.CharField(label="What it shows", max_length=300, required=False)
    subject = forms.ChoiceField(label="Of")
    keep_location = forms.BooleanField(
        label="Keep where the camera says it stood", required=False, help_text="Dropped unless you ask for it."
    )

    def __init__(self, *args: Any, subjects: list[tuple[str, str]], **kwargs: Any) -> None:
        """`subjects`: what it may show, as (`noun:uid`, words); the tree first."""
        super().__init__(*args, **kwargs)
        self.fields["subject"].choices = subjects  # type: ignore[attr-defined]

    def photo(self) -> Photo:
        """What the service takes."""
        about, about_uid = self.cleaned_data["subject"].split(":")
        return Photo(
            self.cleaned_data["file"].read(),
            uid=self.cleaned_data["uid"],
            about=about,
            about_uid=uuid.UUID(about_uid),
            caption=self.cleaned_data["caption"],
            keep_location=self.cleaned_data["keep_location"],
        )


class WithdrawForm(forms.Form):
    """Why a photo is withdrawn."""

    why = forms.CharField(label="Why it is withdrawn", max_length=300)


class ReportForm(forms.Form):
    """What an arborist adds to what was found: the recommendation, the assumptions, until when it is valid."""

    uid = forms.UUIDField(widget=forms.HiddenInput(), initial=uuid.uuid4)
    recommendation = forms.CharField(
        label="Your recommendation",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="In your own words. Nothing is chosen for you.",
    )
    assumptions = forms.CharField(
        label="Assumptions, one a line",
        max_length=10_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    valid_until = forms.DateField(label="Valid until", widget=forms.DateInput(attrs={"type": "date"}))
    paper = forms.ChoiceField(label="Paper", choices=[(paper, _PAPER_WORDS[paper]) for paper in PAPERS])
    units = forms.ChoiceField(label="Units", choices=[("si", "Metric"), ("us", "US customary")])

    def record(self) -> ReportRecord:
        """What the service takes."""
        said = self.cleaned_data
        lines = (line.strip() for line in said["assumptions"].splitlines())
        return ReportRecord(
            uid=said["uid"],
            valid_until=said["valid_until"],
            recommendation=said["recommendation"],
            assumptions=tuple(line for line in lines if line),
            paper=said["paper"],
            units=said["units"],
        )
