"""The forms of the review of species texts: what to list, what a text means, which other taxon to look for."""

from typing import Any

from django import forms

from inventory.models import Species
from inventory.models.species_settlement import OUTCOMES

HOW = {
    "": "All that wait",
    "none": "No name found",
    "corrected": "Taken for a misspelt name",
    "genus": "Only the genus known",
}


class QueueFilter(forms.Form):
    """Which texts to list."""

    how = forms.ChoiceField(label="How matched", required=False, choices=list(HOW.items()))
    q = forms.CharField(label="Words in the text", required=False, max_length=100)


class FindForm(forms.Form):
    """Which taxa to look for."""

    key = forms.CharField(max_length=600, widget=forms.HiddenInput())
    find = forms.CharField(
        label="Look for another species",
        required=False,
        max_length=100,
        help_text="Part of a botanical or everyday name; also misspelt.",
    )


class SettleForm(forms.Form):
    """What a text means: a taxon by its name, the text alone, or no tree."""

    key = forms.CharField(max_length=600)
    choice = forms.CharField(max_length=200)
    why = forms.CharField(required=False, max_length=500)

    def clean_choice(self) -> str:
        """Take `text`, `no_tree`, or `species:` and an accepted name."""
        choice: str = self.cleaned_data["choice"]
        outcome, _, name = choice.partition(":")
        self.species = Species.objects.filter(botanical_name=name).first() if outcome == "species" else None
        if outcome not in OUTCOMES or (outcome == "species") != (self.species is not None):
            raise forms.ValidationError("choose what the text means")
        return outcome

    def meaning(self) -> dict[str, Any]:
        """As the service takes it."""
        return {"outcome": self.cleaned_data["choice"], "species": self.species, "why": self.cleaned_data["why"]}
