"""The filter forms above the lists; each narrows a query set that was scoped before."""

from typing import Any

from django import forms
from django.db.models import Q, QuerySet

from api.pages import words
from inventory.models import Species, Tree, Zone
from inventory.models.tree import STATES
from inventory.rules import INCH_CM

ANY = ("", "Any")


def zones() -> list[tuple[str, str]]:
    """The zones as choices."""
    return [ANY, *((code, f"{code} {name}") for code, name in Zone.objects.values_list("code", "name"))]


def genera() -> list[tuple[str, str]]:
    """The genera of the catalogue as choices."""
    found = Species.objects.order_by("genus").values_list("genus", flat=True).distinct()
    return [ANY, *((genus, genus) for genus in found)]


class TreeFilter(forms.Form):
    """Which trees to list. Sizes are in the reader's units."""

    text = forms.CharField(label="Street, tag or key", required=False, max_length=100)
    zone = forms.ChoiceField(label="Zone", required=False)
    species = forms.CharField(label="Species", required=False, max_length=100)
    genus = forms.ChoiceField(label="Genus", required=False)
    state = forms.ChoiceField(
        label="State", required=False, choices=[ANY, *((state, words.say(state)) for state in STATES)]
    )
    risk = forms.ChoiceField(
        label="Risk",
        required=False,
        choices=[ANY, *((str(n), words.RISK_WORDS[n]) for n in (4, 3, 2, 1, 0))],
    )
    stem_from = forms.FloatField(required=False, min_value=0, max_value=1500)
    stem_to = forms.FloatField(required=False, min_value=0, max_value=1500)

    def __init__(self, data: Any, *, units: str, with_risk: bool) -> None:
        super().__init__(data, auto_id="filter_%s")
        self._step_cm = INCH_CM if units == "us" else 1.0
        unit = "in" if units == "us" else "cm"
        self.fields["stem_from"].label = f"Stem from ({unit})"
        self.fields["stem_to"].label = f"Stem to ({unit})"
        self._offer("zone", zones())
        self._offer("genus", genera())
        if not with_risk:
            del self.fields["risk"]

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        chosen = self.fields[name]
        assert isinstance(chosen, forms.ChoiceField)  # noqa: S101 - tells the type checker what it is
        chosen.choices = choices

    def clean(self) -> dict[str, Any]:
        """The smaller size comes first."""
        wanted = super().clean() or {}
        low, high = wanted.get("stem_from"), wanted.get("stem_to")
        if low is not None and high is not None and low > high:
            self.add_error("stem_to", "must not be below the size before it")
        return wanted

    def narrow(self, trees: QuerySet[Tree]) -> QuerySet[Tree]:
        """Keep the trees that the form asks for; none where the form is wrong."""
        if not self.is_valid():
            return trees.none()
        wanted = self.cleaned_data
        for name, lookup in (("zone", "zone__code"), ("genus", "species__genus"), ("state", "state")):
            if wanted[name]:
                trees = trees.filter(**{lookup: wanted[name]})
        trees = self._by_words(trees)
        return self._by_size(self._by_risk(trees))

    def _by_words(self, trees: QuerySet[Tree]) -> QuerySet[Tree]:
        text, species = self.cleaned_data["text"].strip(), self.cleaned_data["species"].strip()
        if text:
            trees = trees.filter(
                Q(tag__istartswith=text) | Q(external_key__istartswith=text) | Q(site__street__icontains=text)
            )
        if species:
            kinds = Species.objects.filter(
                Q(botanical_name__icontains=species)
                | Q(common_en__icontains=species)
                | Q(names__name__icontains=species)
            )
            trees = trees.filter(species__in=kinds.values("pk"))
        return trees

    def _by_risk(self, trees: QuerySet[Tree]) -> QuerySet[Tree]:
        risk = self.cleaned_data.get("risk")
        if not risk:
            return trees
        if risk == "0":
            return trees.filter(Q(priority__risk=0) | Q(priority=None))
        return trees.filter(priority__risk=int(risk))

    def _by_size(self, trees: QuerySet[Tree]) -> QuerySet[Tree]:
        """A tree known only by a size class is kept where the class meets the wanted sizes."""
        low, high = self.cleaned_data["stem_from"], self.cleaned_data["stem_to"]
        if low is not None:
            trees = trees.filter(Q(dbh_cm__gte=low * self._step_cm) | Q(dbh_high_cm__gte=low * self._step_cm))
        if high is not None:
            trees = trees.filter(Q(dbh_cm__lte=high * self._step_cm) | Q(dbh_low_cm__lte=high * self._step_cm))
        return trees
