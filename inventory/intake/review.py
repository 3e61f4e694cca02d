"""The species texts that wait for a person: what no name, only a genus or a corrected name was found for."""

import hashlib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from django.db import connection
from django.db.models import QuerySet

from inventory.intake.folding import settled_key
from inventory.intake.known import Known, known
from inventory.intake.names import Match
from inventory.intake.settle import spellings
from inventory.intake.suggest import Suggestion
from inventory.models import SpeciesSettlement, Tree
from inventory.problems import Missing
from inventory.statements import statement

# In the order in which help is needed.
OPEN: Final = ("none", "corrected", "genus")
MOST_TEXTS: Final = 50_000
EXAMPLES: Final = 2
MORE_EXAMPLES: Final = 10
_BEGINNING: Final = 30
Place = tuple[int, int, str]


@dataclass
class Question:
    """One text to settle, in all its spellings, with its trees; `place` tells where it stands in the queue."""

    key: str
    match: Match
    trees: int
    without_species: int
    spellings: list[str]
    tree_ids: list[int]
    examples: list[Tree] = field(default_factory=list)
    suggestions: list[Suggestion] = field(default_factory=list)

    @property
    def text(self) -> str:
        """Its commonest spelling."""
        return self.match.text

    @property
    def place(self) -> Place:
        """The helpless first, of these the ones with the most trees."""
        tail = hashlib.sha256(self.key.encode("utf-8", "surrogatepass")).hexdigest()[:12]
        return OPEN.index(self.match.how), -self.trees, f"{self.key[:_BEGINNING]} {tail}"


@dataclass(frozen=True)
class Queue:
    """A part of the queue, and the whole of it in figures: by how they were matched, the texts and their trees."""

    questions: list[Question]
    more: bool
    texts: dict[str, int]
    trees: dict[str, int]


def queue(*, how: str = "", words: str = "", after: Place | None = None, limit: int = 50) -> Queue:
    """The texts that wait, `limit` after a place; `how` and `words` narrow. Raises Conflict without a catalogue.

    The same queries for one text and for thousands; of more than 50,000 texts those with the most trees.
    """
    names = known()
    waiting = _waiting(names)
    texts, trees = Counter[str](), Counter[str]()
    for one in waiting:
        texts[one.match.how] += 1
        trees[one.match.how] += one.trees
    asked = settled_key(words)
    chosen = [
        one
        for one in waiting
        if (not how or one.match.how == how) and asked in one.key and (after is None or one.place > after)
    ]
    chosen.sort(key=lambda one: one.place)
    page = chosen[:limit]
    _fill(page, names)
    return Queue(page, len(chosen) > limit, {h: texts[h] for h in OPEN}, {h: trees[h] for h in OPEN})


def one(key: str) -> Question:
    """One text, waiting or settled, with trees and suggestions. Raises Missing where nothing has it."""
    texts = spellings(key)
    said = SpeciesSettlement.objects.filter(key=key).values_list("text", flat=True).first()
    if not texts and said is None:
        raise Missing(f"no tree has the species text {key!r:.100}")
    trees = Tree.objects.filter(species_text__in=texts)
    names = known()
    found = Question(
        key,
        names.match(texts[0] if texts else str(said)),
        trees.count(),
        trees.filter(species=None).count(),
        texts,
        list(trees.order_by("pk").values_list("pk", flat=True)[:MORE_EXAMPLES]),
    )
    _fill([found], names)
    return found


def settlements() -> QuerySet[SpeciesSettlement]:
    """All that was settled, with the taxon and by whom."""
    return SpeciesSettlement.objects.select_related("species", "settled_by")


def _waiting(names: Known) -> list[Question]:
    settled = set(SpeciesSettlement.objects.values_list("key", flat=True))
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "species_texts"), {"most": MOST_TEXTS})
        rows = cursor.fetchall()
    found: dict[str, Question] = {}
    for text, trees, without, first, last in rows:
        key = settled_key(text)
        if key in found:
            _join(found[key], text, trees, without, first)
        elif key and key not in settled and (match := names.match(text)).how in OPEN:
            found[key] = Question(key, match, trees, without, [text], sorted({first, last}))
    return list(found.values())


def _join(question: Question, text: str, trees: int, without: int, first: int) -> None:
    question.trees += trees
    question.without_species += without
    question.spellings.append(text)
    question.tree_ids = [*question.tree_ids, first][:EXAMPLES]


def _fill(page: Iterable[Question], names: Known) -> None:
    """Give each question its suggestions and two of its trees, in one query for all."""
    wanted = [tree for one in page for tree in one.tree_ids]
    rows = Tree.objects.filter(pk__in=wanted).select_related("site").defer("location_m", "site__location_m")
    by_id = {tree.pk: tree for tree in rows}
    for one in page:
        one.examples = [by_id[tree] for tree in one.tree_ids if tree in by_id]
        one.suggestions = names.suggester.suggest(one.match)
