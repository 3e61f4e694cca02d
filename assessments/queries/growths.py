"""Decay growths as they are shown: the parts of an inspection, each with its results, the newest first."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from assessments.models import DecayGrowth, Inspection
from inventory.problems import Missing


@dataclass(frozen=True)
class Grown:
    """One decayed part; `uid` is that of the section that measured it, else of the finding that it is about."""

    uid: uuid.UUID
    results: Sequence[DecayGrowth]

    @property
    def newest(self) -> DecayGrowth:
        """What the method, as it was last asked, made of it."""
        return self.results[0]


def growths_of(inspection: Inspection) -> list[Grown]:
    """The decayed parts of an inspection that was read with all its parts, in the order in which they were stored."""
    by_part: dict[tuple[int | None, int | None], list[DecayGrowth]] = {}
    for row in sorted(inspection.decay_growths.all(), key=lambda one: -one.pk):
        by_part.setdefault((row.section_id, row.finding_id), []).append(row)
    return [Grown(_uid(rows[0]), rows) for rows in sorted(by_part.values(), key=lambda rows: rows[-1].pk)]


def _uid(row: DecayGrowth) -> uuid.UUID:
    about = row.section or row.finding
    assert about is not None  # noqa: S101 - the database holds one of the two
    return about.uid


def newest_growth(uid: uuid.UUID) -> DecayGrowth:
    """The newest result of the part that a section measured, or that a finding without one is about. Raises Missing."""
    about = Q(section__uid=uid) | Q(section=None, finding__uid=uid)
    found = DecayGrowth.objects.filter(about).order_by("-pk").first()
    if found is None:
        raise Missing(f"there is no decay growth of {uid}")
    return found
