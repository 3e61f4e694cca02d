"""The matcher of the species tables, kept in the process while the tables stay: for what a person waits for."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from django.db import connection

from inventory.intake.names import Catalogue, Match
from inventory.intake.suggest import Suggester
from inventory.intake.taxa import every_name
from inventory.statements import statement

MOST_KEPT: Final = 100_000


@dataclass
class Known:
    """The names of the species tables (without what was settled), with the matches already made."""

    rows: list[tuple[str, str, str, str]]
    _matches: dict[str, Match] = field(default_factory=dict)

    @cached_property
    def names(self) -> Catalogue:
        """The matcher."""
        return Catalogue(self.rows)

    @cached_property
    def suggester(self) -> Suggester:
        """What finds names that are like a text."""
        return Suggester(self.rows)

    def match(self, text: str) -> Match:
        """The match of a text, made once."""
        found = self._matches.get(text)
        if found is None:
            if len(self._matches) >= MOST_KEPT:
                self._matches.clear()
            found = self._matches[text] = self.names.match(text)
        return found


_kept: dict[tuple[str, ...], Known] = {}


def known() -> Known:
    """The names as the tables hold them now. Raises Conflict where the tables are empty."""
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "species_stamp"))
        stamp = tuple(cursor.fetchone())
    found = _kept.get(stamp)
    if found is None:
        found = Known(list(every_name()))
        _kept.clear()
        _kept[stamp] = found
    return found
