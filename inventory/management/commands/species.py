"""`manage.py species`: the species texts that wait for a person; `--settle` says what one of them means."""

import json
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from inventory.intake import review, settle, taxa
from inventory.management.command_line import author, one_problem
from inventory.models import Species
from inventory.problems import Invalid


class Command(BaseCommand):
    """List the species texts that wait, or settle one for all its trees and later files. Bad input: exit code 2."""

    requires_system_checks = ()
    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what to list and what to settle."""
        parser.add_argument("--how", choices=review.OPEN, default="", help="only texts matched in this way")
        parser.add_argument("--words", default="", help="only texts that hold these words")
        parser.add_argument("--limit", type=int, default=50, help="so many texts (50)")
        parser.add_argument("--settle", metavar="TEXT", help="settle this text")
        meaning = parser.add_mutually_exclusive_group()
        meaning.add_argument("--is", dest="name", metavar="NAME", help="it is this species")
        meaning.add_argument("--keep-text", action="store_true", help="it is no species of the catalogue")
        meaning.add_argument("--no-tree", action="store_true", help="no tree stands there")
        parser.add_argument("--why", default="", help="the reason, for the history")
        parser.add_argument("--as", dest="email", help="the person who settles it (the service itself if not given)")
        parser.add_argument("--json", action="store_true", help="the answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """List or settle."""
        with one_problem():
            if options["settle"] is None:
                self._list(options)
            else:
                self._settle(options)

    def _list(self, options: dict[str, Any]) -> None:
        found = review.queue(how=options["how"], words=options["words"], limit=max(1, options["limit"]))
        if options["json"]:
            items = [_as_dict(one) for one in found.questions]
            self.stdout.write(json.dumps({"texts": found.texts, "trees": found.trees, "items": items}))
            return
        for how, count in found.texts.items():
            self.stdout.write(f"{how:10} {count:>7,} texts {found.trees[how]:>9,} trees")
        for one in found.questions:
            likely = ", ".join(f"{s.botanical_name} ({s.found})" for s in one.suggestions) or "nothing like it"
            self.stdout.write(f"{one.trees:>9,}  {one.match.how:9}  {one.text[:60]}: {likely}")

    def _settle(self, options: dict[str, Any]) -> None:
        who = author(options["email"], "species.settle")
        outcome = "text" if options["keep_text"] else "no_tree" if options["no_tree"] else "species"
        taxon = _taxon(options["name"]) if options["name"] else None
        done = settle.settle(who, options["settle"], outcome=outcome, species=taxon, why=options["why"])
        counts = {"changed": done.changed, "taken_off": done.taken_off, "put_back": done.put_back, "kept": done.kept}
        if options["json"]:
            said = {"key": done.settlement.key, "outcome": outcome, "species": taxon and str(taxon)}
            self.stdout.write(json.dumps(said | counts))
            return
        told = ", ".join(f"{name.replace('_', ' ')} {count:,}" for name, count in counts.items())
        self.stdout.write(f"{done.settlement}: trees {told}")


def _taxon(name: str) -> Species:
    """The taxon of a name, accepted or other, in Latin or everyday speech. Raises Invalid."""
    found = taxa.from_database().names.surely(name)
    if found is None:
        raise Invalid.field("#/is", f"{name!r:.100} is no name of the catalogue")
    return settle.species_named(found)


def _as_dict(one: review.Question) -> dict[str, Any]:
    return {
        "key": one.key,
        "text": one.text,
        "how": one.match.how,
        "matched": one.match.botanical_name,
        "trees": one.trees,
        "suggestions": [asdict(suggestion) for suggestion in one.suggestions],
    }
