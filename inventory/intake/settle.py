"""Settles what a species text means: once, by a person, for all trees that have it and for all files to come."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.apps import apps
from django.db import connection, models
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from inventory import calendar, events
from inventory.history import Author
from inventory.intake.folding import settled_key
from inventory.intake.load import LOAD_LOCK
from inventory.intake.settled_acts import MARK
from inventory.models import Event, Measurement, Site, Species, SpeciesSettlement, Tree
from inventory.models.species_settlement import OUTCOMES
from inventory.models.tree import STANDING
from inventory.problems import Conflict, FieldProblem, Invalid

NO_TREE: Final = "no tree stands here: its species text was settled as none"
SHOWN: Final = 80
_TREE_PAST: Final = ("inventory", "TreePast")


@dataclass(frozen=True)
class Settling:
    """What settling a text did: trees whose species changed, were taken off or put back, and that were left alone."""

    settlement: SpeciesSettlement
    changed: int
    taken_off: int
    put_back: int
    kept: int


def settle(author: Author, text: str, *, outcome: str, species: Species | None = None, why: str = "") -> Settling:
    """Record what a text means and bring its trees in line, whatever it was settled as before.

    Outcome: "species" (with the taxon), "text" (no species of the catalogue: the text is kept) or "no_tree". A tree
    whose species a person set singly stays as it is; one on which anything was recorded is never taken for no tree.
    Raises Invalid, or Conflict while a file is being loaded.
    """
    key = settled_key(text)
    _check(key, outcome, species)
    meaning = str(species) if species else {"text": "no species of the catalogue"}.get(outcome, "no tree")
    with author.acting(f"species settled: {text[:SHOWN]} is {meaning}", MARK):
        _wait_for_no_load()
        settlement = _record(author, key, text, outcome, species, why)
        texts = spellings(key)
        put_back = 0 if outcome == "no_tree" else _put_back(texts)
        changed = _name(texts, species)
        taken_off = _take_off(texts) if outcome == "no_tree" else 0
        done = Settling(settlement, changed, taken_off, put_back, _kept(texts, outcome, species))
        told = {"key": key, "text": text[:SHOWN], "outcome": outcome, "species": species and str(species)}
        counts = {"changed": changed, "taken_off": taken_off, "put_back": put_back, "kept": done.kept}
        events.record(author, "species.settled", "species_settlement", settlement.uid, data=told | counts)
    settlement.refresh_from_db()
    return done


def species_named(name: str) -> Species:
    """The taxon of an accepted botanical name. Raises Invalid."""
    found = Species.objects.filter(botanical_name=name).first()
    if found is None:
        raise Invalid.field("#/species", f"{name!r:.100} is no accepted name of the catalogue")
    return found


def spellings(key: str) -> list[str]:
    """The species texts of trees that have this key."""
    texts = Tree.objects.exclude(species_text="").order_by().values_list("species_text", flat=True).distinct()
    return [text for text in texts.iterator() if settled_key(text) == key]


def trees_of(key: str) -> QuerySet[Tree]:
    """The trees whose species text has this key."""
    return Tree.objects.filter(species_text__in=spellings(key))


def _check(key: str, outcome: str, species: Species | None) -> None:
    wrong = []
    if not key:
        wrong.append(FieldProblem("#/text", "must hold a text"))
    if outcome not in OUTCOMES:
        wrong.append(FieldProblem("#/outcome", f"must be one of {', '.join(OUTCOMES)}"))
    elif (outcome == "species") != (species is not None):
        wrong.append(FieldProblem("#/species", "goes with the outcome `species`, and only with it"))
    if wrong:
        raise Invalid.fields(wrong)


def _wait_for_no_load() -> None:
    """A load matches by what was settled when it began: its trees would miss this one. Raises Conflict."""
    if not _free():
        raise Conflict("a file is being loaded: settle the text when that is done")


def _free() -> bool:
    """Take the lock of loads until the end of this act; False where a load has it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [LOAD_LOCK])
        return bool(cursor.fetchone()[0])


def _record(author: Author, key: str, text: str, outcome: str, species: Species | None, why: str) -> SpeciesSettlement:
    """The one row of this text, made or changed; settling the same again changes nothing."""
    said: dict[str, Any] = {"text": text, "outcome": outcome, "species": species, "why": why}
    found = SpeciesSettlement.objects.filter(key=key).first()
    if found is None:
        return SpeciesSettlement.objects.create(key=key, settled_by_id=author.user_id, **said)
    if any(getattr(found, name) != value for name, value in said.items() if name != "text"):
        SpeciesSettlement.objects.filter(pk=found.pk).update(
            **said, settled_by_id=author.user_id, settled_at=timezone.now()
        )
    return found


def _name(texts: Sequence[str], species: Species | None) -> int:
    """Give the trees their species; return how many changed."""
    return _others(texts, species).exclude(_set_singly()).update(species=species)


def _take_off(texts: Sequence[str]) -> int:
    """Record the standing trees of these texts as none, and their sites as vacant, where nothing builds on them."""
    trees = Tree.objects.filter(species_text__in=texts, state__in=STANDING).exclude(_set_singly())
    for relation in _relations():
        rows = relation.related_model._base_manager.filter(**{relation.field.name: OuterRef("pk")})
        if relation.related_model is Measurement:
            rows = rows.filter(intake_load=None)
        trees = trees.exclude(Exists(rows))
    pairs = list(trees.select_for_update(of=("self",)).values_list("pk", "site"))
    Tree.objects.filter(pk__in=[tree for tree, _ in pairs]).update(
        state="removed", removed_on=calendar.today(), removal_reason=NO_TREE
    )
    Site.objects.filter(pk__in=[site for _, site in pairs if site], state="planted").update(state="vacant")
    return len(pairs)


def _put_back(texts: Sequence[str]) -> int:
    """Let the trees that were settled as none stand again as they stood, unless another one was planted there."""
    gone = Tree.objects.filter(species_text__in=texts, state="removed", removal_reason=NO_TREE)
    pairs = list(gone.exclude(site__state="planted").values_list("pk", "site"))
    past = apps.get_model(*_TREE_PAST)._base_manager
    stood = past.filter(pgh_obj_id=OuterRef("pk"), state__in=STANDING).order_by("-pgh_id").values("state")[:1]
    Tree.objects.filter(pk__in=[tree for tree, _ in pairs]).update(
        state=Subquery(stood), removed_on=None, removal_reason=""
    )
    Site.objects.filter(pk__in=[site for _, site in pairs if site]).update(state="planted")
    return len(pairs)


def _kept(texts: Sequence[str], outcome: str, species: Species | None) -> int:
    """How many trees of these texts are not what the text was settled as."""
    if outcome == "no_tree":
        return Tree.objects.filter(species_text__in=texts, state__in=STANDING).count()
    return _others(texts, species).count()


def _others(texts: Sequence[str], species: Species | None) -> QuerySet[Tree]:
    """The trees of these texts that have another species, or one where none is meant."""
    return Tree.objects.filter(species_text__in=texts).exclude(species=species)


def _set_singly() -> Q:
    """Trees whose species a person named in the desk, by an edit or when the tree was added by hand."""
    edits = Event.objects.filter(tree=OuterRef("pk"), kind="tree.edited", data__fields__contains="species_id")
    added = apps.get_model(*_TREE_PAST)._base_manager.filter(
        pgh_obj_id=OuterRef("pk"), pgh_label="insert", species_id__isnull=False
    )
    return Q(Exists(edits)) | (Q(intake_load=None) & Q(Exists(added)))


def _relations() -> list[Any]:
    """Every foreign key to a tree that keeps it from going, whichever app it is of."""
    fields = [field for field in Tree._meta.get_fields(include_hidden=True) if field.auto_created]
    keeping = (models.PROTECT, models.RESTRICT)
    return [f for f in fields if (f.one_to_many or f.one_to_one) and getattr(f, "on_delete", None) in keeping]
