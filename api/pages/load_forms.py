"""The forms of the loads: a file, a mapping, and what to do with refused rows."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from inventory.intake import mapping as mappings
from inventory.intake.roles import ROLES
from inventory.problems import Invalid

# The survey's confidence (0 to 1) in words: the project's choice.
_SURE = ((0.9, "sure"), (0.7, "likely"), (0.0, "uncertain"))


class UploadForm(forms.Form):
    """A city's tree file."""

    file = forms.FileField(
        label="Tree file",
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.json,.geojson,.gpkg,.zip"}),
        help_text="CSV, GeoJSON, GeoPackage, or a Shapefile in a zip archive. Nothing is loaded yet.",
    )


class MappingForm(forms.Form):
    """What each column means, as TOML that a person may correct."""

    sha256 = forms.RegexField(r"^[0-9a-f]{64}$", widget=forms.HiddenInput())
    name = forms.CharField(max_length=300, widget=forms.HiddenInput())
    mapping = forms.CharField(
        label="Mapping (TOML)",
        max_length=200_000,
        widget=forms.Textarea(attrs={"rows": 24, "spellcheck": "false"}),
        help_text="Correct it where the survey is wrong. A column that is not named is not taken over.",
    )

    def clean_mapping(self) -> str:
        """Read it, so that each wrong key is told here."""
        text = str(self.cleaned_data["mapping"])
        try:
            self.tables = mappings.to_dict(mappings.parse(text))
        except Invalid as refusal:
            raise forms.ValidationError(_told(text, refusal)) from refusal
        return text

    def params(self) -> dict[str, Any]:
        """What the jobs take."""
        return {"sha256": self.cleaned_data["sha256"], "name": self.cleaned_data["name"], "mapping": self.tables}


def _told(text: str, refusal: Invalid) -> list[str]:
    return [f"{error.pointer.removeprefix('#/') or 'mapping'}: {error.detail}" for error in refusal.errors]


class LoadForm(MappingForm):
    """Whether a refused row stops the load."""

    refused = forms.ChoiceField(
        label="Rows that are refused",
        choices=[
            ("skip", "Leave them out and keep them, with the reasons, in the report"),
            ("stop", "Load nothing if there is any"),
        ],
        widget=forms.RadioSelect(),
        initial="skip",
    )

    def params(self) -> dict[str, Any]:
        """What the load takes."""
        return super().params() | {"refused": self.cleaned_data["refused"]}


def suggested(survey: Mapping[str, Any]) -> str:
    """The mapping that a survey suggests, as TOML with its evidence above each column."""
    remarks = {column["heading"]: f"{sure(column['confidence'])}: {column['evidence']}" for column in survey["columns"]}
    return mappings.write(mappings.from_dict(survey["mapping"]), remarks)


def columns(survey: Mapping[str, Any]) -> Sequence[dict[str, Any]]:
    """The columns of a survey, each with its role and confidence in words."""
    return [
        column
        | {
            "sure": sure(column["confidence"]),
            "meaning": ROLES[column["role"]].meaning,
            "taken": column["role"] != "ignored",
        }
        for column in survey["columns"]
    ]


def sure(confidence: float) -> str:
    """The word for a confidence from 0 to 1.

    >>> sure(0.95), sure(0.5)
    ('sure', 'uncertain')
    """
    return next(word for least, word in _SURE if confidence >= least)
