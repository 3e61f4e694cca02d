"""Gives every row its verdict: runs the table of checks, makes unknown what they say, keeps the reasons."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inventory.intake.checks import CHECKS, Check
from inventory.intake.facts import HOW, Facts
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source
from inventory.intake.table import Bools, Ints

VERDICTS = ("accepted", "warned", "refused")
_WEIGHT = {"note": 0, "warn": 1, "refuse": 2}


@dataclass(frozen=True)
class Verdict:
    """One row that was not simply accepted: its line, the verdict, the checks, their words, its cells."""

    line: int
    verdict: str
    reasons: list[str]
    details: list[str]
    cells: dict[str, str]


@dataclass
class Examination:
    """The verdict of every row: 0 accepted, 1 accepted with a warning, 2 refused; and what each check found."""

    facts: Facts
    verdicts: NDArray[np.int8]
    # Of each check that found anything: the rows, and the reason in words for each (in the same order).
    found: list[tuple[Check, Ints, list[str]]]

    @property
    def taken(self) -> Bools:
        """The rows that are to become trees or sites: not refused, and not in the inventory already."""
        return np.asarray((self.verdicts < 2) & ~self.facts.same)

    def counts(self) -> dict[str, Any]:
        """Rows in all, by verdict, by reason, and what they become."""
        taken = self.taken
        numbers = {name: int(np.sum(self.verdicts == code)) for code, name in enumerate(VERDICTS)}
        vacant = self.facts.is_state("vacant")
        return {
            "rows": len(self.verdicts),
            **numbers,
            "same": int(np.sum(self.facts.same & (self.verdicts < 2))),
            "trees": int(np.sum(taken & ~vacant)),
            "vacant_sites": int(np.sum(taken & vacant)),
            "reasons": {check.name: len(rows) for check, rows, _ in self.found},
            "species": {how: int(np.sum(self.facts.how(how) & taken & ~vacant)) for how in HOW},
        }

    def rows(self, source: Source, least: int = 1) -> Iterator[Verdict]:
        """The rows with at least this verdict, in the order of the file, with their cells read again."""
        wanted = self.verdicts >= least
        if least == 0:
            wanted = np.zeros(len(wanted), bool)
            for _, rows, _ in self.found:
                wanted[rows] = True
        start = 0
        for block in source.blocks():
            count = len(block.lines)
            here = np.flatnonzero(wanted[start : start + count])
            said = self.said(start + here)
            for row in here:
                reasons, details = said[start + int(row)]
                verdict = VERDICTS[self.verdicts[start + row]]
                cells = {name: column[row] for name, column in zip(source.columns, block.cells, strict=True)}
                yield Verdict(int(block.lines[row]), verdict, reasons, details, cells)
            start += count

    def said(self, rows: Ints) -> dict[int, tuple[list[str], list[str]]]:
        """What the checks said of these rows (in order): names of checks, and their words; others are left out."""
        said: dict[int, tuple[list[str], list[str]]] = {}
        for check, found, details in self.found:
            at = np.minimum(np.searchsorted(found, rows), len(found) - 1)
            hit = found[at] == rows
            for row, place in zip(rows[hit].tolist(), at[hit].tolist(), strict=True):
                reasons, words = said.setdefault(row, ([], []))
                reasons.append(check.name)
                words.append(details[place])
        return said


def examine(facts: Facts, progress: Progress = silent) -> Examination:
    """Run every check over every row, in the order of the table, and make unknown what a check says."""
    verdicts = np.zeros(len(facts.table), np.int8)
    found: list[tuple[Check, Ints, list[str]]] = []
    for place, check in enumerate(CHECKS):
        progress(place, len(CHECKS), "checking")
        rows = np.flatnonzero(check.test(facts))
        if len(rows):
            # The words are made before a value they show is taken away.
            found.append((check, rows, _words(check, facts, rows)))
            np.maximum.at(verdicts, rows, _WEIGHT[check.severity])
            _forget(facts, check, rows)
    return Examination(facts, verdicts, found)


def _words(check: Check, facts: Facts, rows: Ints) -> list[str]:
    return [check.say(facts, row) for row in rows.tolist()]


def _forget(facts: Facts, check: Check, rows: Ints) -> None:
    for name in check.unset:
        if name in facts.table.numbers:
            facts.table.numbers[name][rows] = np.nan
        else:
            facts.table.days[name][rows] = -1
